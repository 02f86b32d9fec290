#include "slipglass/network/network.h"

#include <omp.h>

#include <algorithm>
#include <future>
#include <new>
#include <opencv2/core.hpp>
#include <optional>
#include <set>
#include <stdexcept>

#include "convolution.h"
#include "graph.h"
#include "pictures.h"

// Values are pictures of many channels, which lie as oneDNN's nhwc: convolutions are its work, all else is
// done in pictures.cpp.

namespace slipglass {

namespace {

struct Value {
    Laid laid;        // CV_32F, or in steps of `scale`: CV_8U; what the network is given CV_8S
    float scale = 0;  // 0: as it is

    cv::Mat picture() const { return laid.picture(); }

    /// The same in other steps, or in none.
    Value in(float other) const
    {
        if (other == scale) return *this;
        Value made{{{}, laid.steps}, other};
        const double gain = (scale > 0 ? scale : 1.0) / (other > 0 ? other : 1.0);
        laid.held.convertTo(made.laid.held, other > 0 ? CV_8U : CV_32F, gain);
        return made;
    }
};

}  // namespace

struct Network::Prepared {
    using Convolutions =
        std::vector<std::optional<Convolution>>;  // of each step that is one, once it was needed

    NetworkGraph graph;
    std::map<std::pair<int, int>, Convolutions> ready;  // for pictures of a height and width

    /// Those for pictures of this size. A tub's panels come in a few, in any order.
    Convolutions& readyFor(cv::Size size)
    {
        constexpr size_t kSizes = 6;
        const std::pair key(size.height, size.width);
        if (ready.size() >= kSizes && !ready.count(key)) ready.clear();
        return ready.try_emplace(key, graph.steps.size()).first->second;
    }

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
    Value convolved(size_t i, const Value& from, const Value& plus,
                    std::optional<Convolution>& convolution) const
    {
        const Step& step = graph.steps[i];
        // What a sum of convolutions adds is in numbers: below zero as well.
        const bool bytes = from.scale > 0 && (step.plus < 0 || plus.scale > 0);
        const float to_scale = bytes ? scaleOf(step.to) : 0;
        const bool by_pixel = step.kernel == 1 && step.stride == 1 && step.plus < 0;
        const cv::Mat given = by_pixel ? from.laid.pixels() : from.picture();
        const Value added = step.plus < 0 ? plus : to_scale > 0 ? plus : plus.in(0);
        if (!convolution)
            convolution.emplace(step, given.size(), given.depth(), from.scale, to_scale, added.scale);
        const cv::Mat made = convolution->of(given, added.picture());
        if (step.kind == Step::Kind::upsampling) return {{made, step.stride}, to_scale};
        return {by_pixel ? from.laid.with(made) : Laid{made}, to_scale};
    }

    Value done(size_t i, std::vector<Value> from, const Value& plus,
               std::optional<Convolution>& convolution) const
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
                return convolved(i, one, plus, convolution).in(scaleOf(step.to));
            case Step::Kind::doubling:
                return {{doubled(one.picture())}, one.scale};
            case Step::Kind::row_mean:
                return {{rowMean(one.picture(), step.kernel)}, one.scale};
            case Step::Kind::sum:
                return {{from[0].picture() + from[1].picture()}, one.scale};
            case Step::Kind::joining: {
                std::vector<Laid> pictures;
                pictures.reserve(from.size());
                for (const Value& value : from) pictures.push_back(value.laid);
                return {{joined(pictures)}, one.scale};
            }
            case Step::Kind::relu:
                return Value{one.laid.with(relu(one.laid.pixels())), one.scale}.in(scaleOf(step.to));
            case Step::Kind::sigmoid:
                return {one.laid.with(sigmoid(one.in(0).laid.pixels())), 0};
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
try {
    NetworkGraph& graph = prepared_->graph;
    if (planes.channels() != graph.channels)
        throw std::runtime_error("a network given other planes than it takes");
    Prepared::Convolutions& convolutions = prepared_->readyFor(planes.size());
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

    // Bytes stay bytes where the file says how large a step is, which is then the one they are given in.
    const Value given{{planes}, planes.depth() == CV_8S ? kPlaneStep : 0};
    std::map<int, Value> values = {{0, prepared_->scaleOf(0) > 0 ? given : given.in(0)}};
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
            if (step.plus == 0 || also_from || last_use.at(step.plus) != i)
                plus.laid.held = plus.laid.held.clone();
        }
        values[step.to] = prepared_->done(i, std::move(from), plus, convolutions[i]);
        for (const auto& [value, last] : last_use) {
            if (last == i) values.erase(value);
        }
    }
    std::vector<cv::Mat> made;
    made.reserve(asked.size());
    for (const int value : asked) made.push_back(values.at(value).in(0).picture());
    return made;
} catch (const dnnl::error& problem) {
    if (problem.status == dnnl_out_of_memory) throw std::bad_alloc();
    throw;
} catch (const std::future_error&) {
    // oneDNN keeps for later what it has made, and as well that it had no memory to make it: while the
    // program runs, it makes that no more.
    throw std::bad_alloc();
}

Network::Weights Network::lastWeights(const std::string& output, int plane) const
{
    const NetworkGraph& graph = prepared_->graph;
    const auto making = [&graph](int value) -> const Step& {
        return *std::find_if(graph.steps.begin(), graph.steps.end(),
                             [value](const Step& s) { return s.to == value; });
    };
    const Step& step = making(making(graph.outputs.at(output)).from.at(0));
    const auto first = step.weights.begin() + static_cast<ptrdiff_t>(plane) * step.in;
    return {{first, first + step.in}, step.bias.at(static_cast<size_t>(plane))};
}

cv::Mat inputPlanes(cv::Size size, int count, int depth)
{
    constexpr int kMultiple = 32;
    const auto padded = [](int n) { return (n + kMultiple - 1) / kMultiple * kMultiple; };
    return cv::Mat::zeros(padded(size.height), padded(size.width), CV_MAKETYPE(depth, count));
}

std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size)
{
    std::vector<cv::Mat> planes;
    cv::split(output(cv::Rect({}, size)), planes);
    return planes;
}

}  // namespace slipglass
