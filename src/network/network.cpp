#include "slipglass/network/network.h"

#include <omp.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <oneapi/dnnl/dnnl.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <set>
#include <stdexcept>

#include "graph.h"

// Values are pictures of many channels, which lie as oneDNN's nhwc: convolutions are its work, all else is
// OpenCV's.

namespace slipglass {

namespace {

using dnnl::memory;

const dnnl::engine& processor()
{
    static const dnnl::engine engine(dnnl::engine::kind::cpu, 0);
    return engine;
}

memory::desc picture(cv::Size size, int channels, int depth)
{
    return {{1, channels, size.height, size.width},
            depth == CV_8U ? memory::data_type::u8 : memory::data_type::f32,
            memory::format_tag::nhwc};
}

cv::Size sizeAfter(const Step& step, cv::Size size)
{
    const auto along = [&step](int n) { return (n + 2 * step.pad - step.kernel) / step.stride + 1; };
    return {along(size.width), along(size.height)};
}

/// A picture; after an upsampling the pixels under a step lie beside each other, row by row, in its channels,
/// until something needs them in their places: what looks at single pixels does not.
struct Value {
    cv::Mat held;     // CV_32F, or CV_8U in steps of `scale`
    float scale = 0;  // 0: as it is
    int steps = 1;    // pixels under a step, each way

    /// The same pixels, in another order where there are steps.
    cv::Mat pixels() const
    {
        const int under = steps * steps;
        return under == 1 ? held : held.reshape(held.channels() / under, {held.rows, held.cols * under});
    }

    cv::Mat picture() const
    {
        if (steps == 1) return held;
        const int channels = held.channels() / (steps * steps);
        cv::Mat wide(held.rows * steps, held.cols * steps, CV_MAKETYPE(held.depth(), channels));
        const size_t row = static_cast<size_t>(steps) * wide.elemSize();
        for (int y = 0; y < wide.rows; ++y) {
            const uchar* from = held.ptr(y / steps) + static_cast<size_t>(y % steps) * row;
            uchar* to = wide.ptr(y);
            for (int x = 0; x < held.cols; ++x, to += row, from += held.elemSize())
                std::memcpy(to, from, row);
        }
        return wide;
    }

    /// What was made of pixels(), as these lie.
    Value with(const cv::Mat& made, float made_scale) const
    {
        return {made.reshape(made.channels() * steps * steps, {held.rows, held.cols}), made_scale, steps};
    }

    /// The same in other steps, or in none.
    Value in(float other) const
    {
        if (other == scale) return *this;
        Value made{{}, other, steps};
        const double gain = (scale > 0 ? scale : 1.0) / (other > 0 ? other : 1.0);
        held.convertTo(made.held, other > 0 ? CV_8U : CV_32F, gain);
        return made;
    }
};

/// The largest whole number that a weight becomes: where the processor adds two products of a byte and a
/// weight in sixteen bits, seven bits with the sign keep them from overflowing.
float weightLevels()
{
    const dnnl::cpu_isa isa = dnnl::get_effective_cpu_isa();
    const bool wide_sums = isa == dnnl::cpu_isa::avx2_vnni || isa >= dnnl::cpu_isa::avx512_core_vnni;
    return wide_sums ? 127 : 63;
}

/// A convolution made ready for pictures of one size. It takes bytes and gives bytes, or numbers; or takes
/// numbers and gives numbers.
class Convolution {
public:
    /// @param from_scale, to_scale  of the values; 0: numbers. Bytes can only be made of bytes.
    Convolution(const Step& step, cv::Size size, float from_scale, float to_scale, float plus_scale)
    {
        // An upsampling by whole steps is a convolution of single pixels to each of the pixels under a step.
        const bool up = step.kind == Step::Kind::upsampling, bytes = from_scale > 0;
        const int out = up ? step.out * step.kernel * step.kernel : step.out, kernel = up ? 1 : step.kernel;
        from_ = picture(size, step.in, bytes ? CV_8U : CV_32F);
        to_ = picture(up ? size : sizeAfter(step, size), out, to_scale > 0 ? CV_8U : CV_32F);
        to_type_ = CV_MAKETYPE(to_scale > 0 ? CV_8U : CV_32F, out);
        const memory::dims shape = {out, step.in, kernel, kernel};
        const memory::desc offsets({out}, memory::data_type::f32, memory::format_tag::a);
        const memory::dim stride = up ? 1 : step.stride, pad = up ? 0 : step.pad;

        std::vector<float> plain = step.weights, plain_bias = step.bias;
        if (up) turnForPixels(step, plain, plain_bias);
        dnnl::primitive_attr also;
        if (bytes) {
            const std::vector<float> steps = roundWeights(plain, plain_bias, from_scale);
            std::vector<float> gains = steps;
            for (float& gain : gains) gain *= from_scale / (to_scale > 0 ? to_scale : 1);
            constexpr int kEachOutput = 1 << 1;
            also.set_output_scales(kEachOutput, gains);
        }
        dnnl::post_ops after;
        if (step.plus >= 0) after.append_sum(to_scale > 0 ? plus_scale / to_scale : 1);
        if (step.then_relu) after.append_eltwise(1, dnnl::algorithm::eltwise_relu, 0, 0);
        also.set_post_ops(after);
        const memory::data_type weight_type = bytes ? memory::data_type::s8 : memory::data_type::f32;
        const dnnl::convolution_forward::primitive_desc best({dnnl::prop_kind::forward_inference,
                                                              dnnl::algorithm::convolution_direct,
                                                              from_,
                                                              {shape, weight_type, memory::format_tag::any},
                                                              offsets,
                                                              to_,
                                                              {stride, stride},
                                                              {pad, pad},
                                                              {pad, pad}},
                                                             also, processor());
        does_ = dnnl::convolution_forward(best);

        memory given({shape, memory::data_type::f32, memory::format_tag::oihw}, processor(), plain.data());
        weights_ = memory(best.weights_desc(), processor());
        bias_ = memory(offsets, processor());
        dnnl::stream stream(processor());
        dnnl::reorder(given, weights_).execute(stream, given, weights_);
        stream.wait();
        std::copy(plain_bias.begin(), plain_bias.end(), static_cast<float*>(bias_.get_data_handle()));
    }

    /// @param plus  what is added, if anything: the answer takes its place.
    cv::Mat of(const cv::Mat& value, const cv::Mat& plus) const
    {
        const auto size = to_.dims();
        cv::Mat made = plus;
        made.create(static_cast<int>(size[2]), static_cast<int>(size[3]), to_type_);
        dnnl::stream stream(processor());
        does_.execute(stream, {{DNNL_ARG_SRC, memory(from_, processor(), const_cast<uchar*>(value.data))},
                               {DNNL_ARG_WEIGHTS, weights_},
                               {DNNL_ARG_BIAS, bias_},
                               {DNNL_ARG_DST, memory(to_, processor(), made.data)}});
        stream.wait();
        return made;
    }

private:
    dnnl::convolution_forward does_;
    memory::desc from_, to_;
    int to_type_ = 0;
    memory weights_, bias_;

    /// Whole numbers, and what a step of each output's is; its bias in the same steps.
    static std::vector<float> roundWeights(std::vector<float>& weights, std::vector<float>& bias,
                                           float from_scale)
    {
        const float levels = weightLevels();
        const size_t each = weights.size() / bias.size();
        std::vector<float> steps;
        for (size_t out = 0; out < bias.size(); ++out) {
            float most = 1e-12F;
            for (size_t i = 0; i < each; ++i) most = std::max(most, std::abs(weights[out * each + i]));
            steps.push_back(most / levels);
            for (size_t i = 0; i < each; ++i)
                weights[out * each + i] = std::round(weights[out * each + i] / steps.back());
            bias[out] /= steps.back() * from_scale;
        }
        return steps;
    }

    /// in x out x k x k to (k x k x out) x in, so that each pixel's channels lie together.
    static void turnForPixels(const Step& step, std::vector<float>& weights, std::vector<float>& bias)
    {
        const int places = step.kernel * step.kernel;
        std::vector<float> turned(weights.size());
        for (int place = 0; place < places; ++place) {
            for (int out = 0; out < step.out; ++out) {
                for (int in = 0; in < step.in; ++in) {
                    turned[static_cast<size_t>((place * step.out + out) * step.in + in)] =
                        weights[static_cast<size_t>((in * step.out + out) * places + place)];
                }
            }
        }
        weights = std::move(turned);
        const std::vector<float> one = bias;
        for (int place = 1; place < places; ++place) bias.insert(bias.end(), one.begin(), one.end());
    }
};

cv::Mat sigmoid(const cv::Mat& value)
{
    cv::Mat made;
    cv::exp(-value.reshape(1), made);
    cv::add(made, 1, made);
    cv::divide(1, made, made);
    return made.reshape(value.channels());
}

cv::Mat relu(const cv::Mat& value)
{
    cv::Mat made;
    cv::max(value.reshape(1), 0.0, made);
    return made.reshape(value.channels());
}

cv::Mat doubled(const cv::Mat& value)
{
    cv::Mat made;
    cv::resize(value, made, {}, 2, 2, cv::INTER_LINEAR);
    return made;
}

cv::Mat rowMean(const cv::Mat& value, int places)
{
    cv::Mat made;
    cv::boxFilter(value, made, -1, {places, 1}, {-1, -1}, true, cv::BORDER_CONSTANT);
    return made;
}

cv::Mat joined(const std::vector<cv::Mat>& values)
{
    int channels = 0;
    for (const cv::Mat& value : values) channels += value.channels();
    cv::Mat made(values[0].size(), CV_MAKETYPE(values[0].depth(), channels));
    size_t before = 0;
    for (const cv::Mat& value : values) {
        const size_t size = value.elemSize();
        for (int y = 0; y < made.rows; ++y) {
            const uchar* from = value.ptr(y);
            uchar* to = made.ptr(y) + before;
            for (int x = 0; x < made.cols; ++x, from += size, to += made.elemSize())
                std::memcpy(to, from, size);
        }
        before += size;
    }
    return made;
}

}  // namespace

struct Network::Prepared {
    Graph graph;
    cv::Size size;  // of the picture that the convolutions are ready for
    std::vector<std::optional<Convolution>> convolutions;  // of each step that is one, once it was needed

    /// Which steps these values need.
    std::vector<bool> neededFor(const std::vector<int>& values) const
    {
        std::set<int> needed(values.begin(), values.end());
        std::vector<bool> steps(graph.steps.size());
        for (size_t i = graph.steps.size(); i-- > 0;) {
            const Step& step = graph.steps[i];
            if (!needed.count(step.to)) continue;
            steps[i] = true;
            needed.insert(step.plus);
            needed.insert(step.from.begin(), step.from.end());
        }
        return steps;
    }

    /// After which step each value is no longer needed.
    std::map<int, size_t> lastUses(const std::vector<bool>& needed, const std::vector<int>& asked) const
    {
        std::map<int, size_t> last;
        for (size_t i = 0; i < graph.steps.size(); ++i) {
            if (!needed[i]) continue;
            last[graph.steps[i].plus] = i;
            for (const int value : graph.steps[i].from) last[value] = i;
        }
        for (const int value : asked) last[value] = graph.steps.size();
        return last;
    }

    float scaleOf(int value) const
    {
        const auto found = graph.scales.find(value);
        return found == graph.scales.end() ? 0 : found->second;
    }

    /// @param plus  in place of which the answer may stand.
    Value convolved(size_t i, const Value& from, const Value& plus)
    {
        const Step& step = graph.steps[i];
        const float to_scale = from.scale > 0 ? scaleOf(step.to) : 0;
        const bool by_pixel = step.kernel == 1 && step.stride == 1 && step.plus < 0;
        const cv::Mat given = by_pixel ? from.pixels() : from.picture();
        const Value added = step.plus < 0 ? plus : to_scale > 0 ? plus : plus.in(0);
        if (!convolutions[i]) convolutions[i].emplace(step, given.size(), from.scale, to_scale, added.scale);
        const cv::Mat made = convolutions[i]->of(given, added.picture());
        if (step.kind == Step::Kind::upsampling) return {made, to_scale, step.stride};
        return by_pixel ? from.with(made, to_scale) : Value{made, to_scale};
    }

    Value done(size_t i, std::vector<Value> from, const Value& plus)
    {
        const Step& step = graph.steps[i];
        const Value& one = from[0];
        // Values that meet do so in the steps of what they make.
        if (from.size() > 1) {
            for (Value& value : from) value = value.in(scaleOf(step.to));
        }
        switch (step.kind) {
            case Step::Kind::convolution:
            case Step::Kind::upsampling:
                return convolved(i, one, plus).in(scaleOf(step.to));
            case Step::Kind::doubling:
                return {doubled(one.picture()), one.scale};
            case Step::Kind::row_mean:
                return {rowMean(one.picture(), step.kernel), one.scale};
            case Step::Kind::sum:
                return {from[0].picture() + from[1].picture(), one.scale};
            case Step::Kind::joining: {
                std::vector<cv::Mat> pictures;
                for (const Value& value : from) pictures.push_back(value.picture());
                return {joined(pictures), one.scale};
            }
            case Step::Kind::relu:
                return one.with(relu(one.pixels()), one.scale).in(scaleOf(step.to));
            case Step::Kind::sigmoid:
                return one.with(sigmoid(one.in(0).pixels()), 0);
        }
        throw std::logic_error("a step of no kind");
    }
};

Network::Network(std::string_view onnx) : prepared_(std::make_unique<Prepared>())
{
    prepared_->graph = readGraph(onnx);
}

Network::~Network() = default;

std::vector<cv::Mat> Network::run(const cv::Mat& planes, const std::vector<std::string>& wanted)
{
    Graph& graph = prepared_->graph;
    if (planes.channels() != graph.channels)
        throw std::runtime_error("a network given other planes than it takes");
    if (prepared_->size != planes.size()) {
        prepared_->size = planes.size();
        prepared_->convolutions = std::vector<std::optional<Convolution>>(graph.steps.size());
    }
    // As many threads as OpenCV may take; OpenMP counts anew in every thread.
    omp_set_num_threads(std::max(1, cv::getNumThreads()));

    std::vector<int> asked;
    for (const std::string& name : wanted) {
        const auto found = graph.outputs.find(name);
        if (found == graph.outputs.end()) throw std::runtime_error("a network without output " + name);
        asked.push_back(found->second);
    }
    const std::vector<bool> needed = prepared_->neededFor(asked);
    const std::map<int, size_t> last_use = prepared_->lastUses(needed, asked);

    std::map<int, Value> values = {{0, {planes}}};
    for (size_t i = 0; i < graph.steps.size(); ++i) {
        const Step& step = graph.steps[i];
        if (!needed[i]) continue;
        std::vector<Value> from;
        for (const int value : step.from) from.push_back(values.at(value));
        Value plus;
        if (step.plus >= 0) {
            plus = values.at(step.plus);
            // The answer takes its place: what is needed again, or is ours only to look at, stays.
            const bool also_from =
                std::find(step.from.begin(), step.from.end(), step.plus) != step.from.end();
            if (step.plus == 0 || also_from || last_use.at(step.plus) != i) plus.held = plus.held.clone();
        }
        values[step.to] = prepared_->done(i, std::move(from), plus);
        for (const auto& [value, last] : last_use) {
            if (last == i) values.erase(value);
        }
    }
    std::vector<cv::Mat> made;
    for (const int value : asked) made.push_back(values.at(value).in(0).picture());
    return made;
}

Network::Weights Network::lastWeights(const std::string& output, int plane) const
{
    const Graph& graph = prepared_->graph;
    const auto making = [&graph](int value) -> const Step& {
        return *std::find_if(graph.steps.begin(), graph.steps.end(),
                             [value](const Step& s) { return s.to == value; });
    };
    const Step& step = making(making(graph.outputs.at(output)).from.at(0));
    const auto first = step.weights.begin() + static_cast<ptrdiff_t>(plane) * step.in;
    return {{first, first + step.in}, step.bias.at(static_cast<size_t>(plane))};
}

cv::Mat inputPlanes(cv::Size size, int count)
{
    constexpr int kMultiple = 32;
    const auto padded = [](int n) { return (n + kMultiple - 1) / kMultiple * kMultiple; };
    cv::Mat planes(padded(size.height), padded(size.width), CV_32FC(count));
    planes = cv::Scalar::all(0);
    return planes;
}

std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size)
{
    std::vector<cv::Mat> planes;
    cv::split(output(cv::Rect({}, size)), planes);
    return planes;
}

}  // namespace slipglass
