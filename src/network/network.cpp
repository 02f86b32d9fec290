#include "slipglass/network/network.h"

#include <omp.h>

#include <algorithm>
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

memory::desc picture(cv::Size size, int channels)
{
    return {{1, channels, size.height, size.width}, memory::data_type::f32, memory::format_tag::nhwc};
}

cv::Size sizeAfter(const Step& step, cv::Size size)
{
    const auto along = [&step](int n) { return (n + 2 * step.pad - step.kernel) / step.stride + 1; };
    return {along(size.width), along(size.height)};
}

/// A convolution made ready for pictures of one size.
struct Convolution {
    dnnl::convolution_forward does;
    memory::desc from, to;
    memory weights, bias;

    Convolution(const Step& step, cv::Size size)
    {
        // An upsampling by whole steps is a convolution of single pixels to each of the pixels under a step.
        const bool up = step.kind == Step::Kind::upsampling;
        const int out = up ? step.out * step.kernel * step.kernel : step.out, kernel = up ? 1 : step.kernel;
        from = picture(size, step.in);
        to = picture(up ? size : sizeAfter(step, size), out);
        const memory::desc asked({out, step.in, kernel, kernel}, memory::data_type::f32,
                                 memory::format_tag::any),
            offsets({out}, memory::data_type::f32, memory::format_tag::a);
        const memory::dim stride = up ? 1 : step.stride, pad = up ? 0 : step.pad;
        dnnl::post_ops after;
        if (step.plus >= 0) after.append_sum();
        if (step.then_relu) after.append_eltwise(1, dnnl::algorithm::eltwise_relu, 0, 0);
        dnnl::primitive_attr also;
        also.set_post_ops(after);
        const dnnl::convolution_forward::primitive_desc best({dnnl::prop_kind::forward_inference,
                                                              dnnl::algorithm::convolution_direct,
                                                              from,
                                                              asked,
                                                              offsets,
                                                              to,
                                                              {stride, stride},
                                                              {pad, pad},
                                                              {pad, pad}},
                                                             also, processor());
        does = dnnl::convolution_forward(best);

        std::vector<float> plain = step.weights, plain_bias = step.bias;
        if (up) turnForPixels(step, plain, plain_bias);
        const memory given({{out, step.in, kernel, kernel}, memory::data_type::f32, memory::format_tag::oihw},
                           processor(), plain.data());
        weights = memory(best.weights_desc(), processor());
        bias = memory(offsets, processor());
        dnnl::stream stream(processor());
        dnnl::reorder(given, weights).execute(stream, const_cast<memory&>(given), weights);
        stream.wait();
        std::copy(plain_bias.begin(), plain_bias.end(), static_cast<float*>(bias.get_data_handle()));
    }

    /// @param plus  what is added, if anything: the answer takes its place.
    cv::Mat of(const cv::Mat& value, const cv::Mat& plus) const
    {
        const auto size = to.dims();
        cv::Mat made = plus;
        made.create(static_cast<int>(size[2]), static_cast<int>(size[3]), CV_32FC(static_cast<int>(size[1])));
        dnnl::stream stream(processor());
        does.execute(stream, {{DNNL_ARG_SRC, memory(from, processor(), const_cast<uchar*>(value.data))},
                              {DNNL_ARG_WEIGHTS, weights},
                              {DNNL_ARG_BIAS, bias},
                              {DNNL_ARG_DST, memory(to, processor(), made.data)}});
        stream.wait();
        return made;
    }

private:
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

/// A picture; after an upsampling the pixels under a step lie beside each other, row by row, in its channels,
/// until something needs them in their places: what looks at single pixels does not.
struct Value {
    cv::Mat held;
    int steps = 1;  // pixels under a step, each way

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
        cv::Mat wide(held.rows * steps, held.cols * steps, CV_32FC(channels));
        const auto row = static_cast<size_t>(steps) * static_cast<size_t>(channels);
        for (int y = 0; y < wide.rows; ++y) {
            const float* from = held.ptr<float>(y / steps) + static_cast<size_t>(y % steps) * row;
            auto* to = wide.ptr<float>(y);
            for (int x = 0; x < held.cols; ++x, to += row, from += held.channels())
                std::copy_n(from, row, to);
        }
        return wide;
    }

    /// What was made of pixels(), as these lie.
    Value with(const cv::Mat& made) const
    {
        return {made.reshape(made.channels() * steps * steps, {held.rows, held.cols}), steps};
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
            needed.insert({step.from, step.plus});
        }
        return steps;
    }

    cv::Mat convolved(size_t i, const cv::Mat& from, const cv::Mat& plus)
    {
        if (!convolutions[i]) convolutions[i].emplace(graph.steps[i], from.size());
        return convolutions[i]->of(from, plus);
    }

    /// @param plus  is no longer needed if `take_plus`.
    Value done(size_t i, const Value& from, const Value& plus, bool take_plus)
    {
        const Step& step = graph.steps[i];
        switch (step.kind) {
            case Step::Kind::convolution:
                if (step.kernel == 1 && step.stride == 1 && step.plus < 0)
                    return from.with(convolved(i, from.pixels(), {}));
                return {convolved(i, from.picture(), take_plus ? plus.picture() : plus.picture().clone())};
            case Step::Kind::upsampling:
                return {convolved(i, from.picture(), {}), step.stride};
            case Step::Kind::doubling:
                return {doubled(from.picture())};
            case Step::Kind::row_mean:
                return {rowMean(from.picture(), step.kernel)};
            case Step::Kind::sum:
                return {from.picture() + plus.picture()};
            case Step::Kind::relu:
                return from.with(relu(from.pixels()));
            case Step::Kind::sigmoid:
                return from.with(sigmoid(from.pixels()));
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
    std::map<int, size_t> last_use;
    for (size_t i = 0; i < graph.steps.size(); ++i) {
        if (needed[i]) last_use[graph.steps[i].from] = last_use[graph.steps[i].plus] = i;
    }
    for (const int value : asked) last_use[value] = graph.steps.size();

    std::map<int, Value> values = {{0, {planes}}};
    for (size_t i = 0; i < graph.steps.size(); ++i) {
        const Step& step = graph.steps[i];
        if (!needed[i]) continue;
        const bool take_plus = step.plus > 0 && step.plus != step.from && last_use.at(step.plus) == i;
        values[step.to] = prepared_->done(i, values.at(step.from),
                                          step.plus < 0 ? Value() : values.at(step.plus), take_plus);
        for (const int used : {step.from, step.plus}) {
            if (last_use.at(used) == i) values.erase(used);
        }
    }
    std::vector<cv::Mat> made;
    for (const int value : asked) made.push_back(values.at(value).picture());
    return made;
}

Network::Weights Network::lastWeights(const std::string& output, int plane) const
{
    const Graph& graph = prepared_->graph;
    const auto making = [&graph](int value) -> const Step& {
        return *std::find_if(graph.steps.begin(), graph.steps.end(),
                             [value](const Step& s) { return s.to == value; });
    };
    const Step& step = making(making(graph.outputs.at(output)).from);
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
