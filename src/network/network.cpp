#include "slipglass/network/network.h"

#include <omp.h>

#include <algorithm>
#include <list>
#include <mutex>
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

/// A convolution of 4 x 4 pixels in every second place, as one of 2 x 2 that each hold four.
/// @throws std::runtime_error  another one.
Step overFours(const Step& step)
{
    if (step.kernel != 4 || step.stride != 2 || step.pad != 1)
        throw std::runtime_error("planes by fours for a network that does not look at them so");
    Step fours = step;
    fours.in *= 4;
    fours.kernel = 2;
    fours.stride = 1;
    fours.pad = 0;
    const auto planes = static_cast<size_t>(step.out) * static_cast<size_t>(step.in);
    const auto ins = static_cast<size_t>(step.in);
    for (size_t plane = 0; plane < planes; ++plane) {  // out x in x 4 x 4 to out x (2 x 2 x in) x 2 x 2
        for (size_t y = 0; y < 4; ++y) {
            for (size_t x = 0; x < 4; ++x) {
                const size_t out = plane / ins, in = (y % 2 * 2 + x % 2) * ins + plane % ins;
                fours.weights[(out * ins * 4 + in) * 4 + y / 2 * 2 + x / 2] =
                    step.weights[plane * 16 + y * 4 + x];
            }
        }
    }
    return fours;
}

/// A convolution of single pixels as one of `under` pixels whose channels lie one after the other.
Step ofEachUnder(const Step& step, int under)
{
    Step all = step;
    all.in *= under;
    all.out *= under;
    const auto ins = static_cast<size_t>(step.in), outs = static_cast<size_t>(step.out),
               all_ins = static_cast<size_t>(all.in);
    all.weights.assign(all_ins * static_cast<size_t>(all.out), 0);
    all.bias.clear();
    all.weight_steps.clear();
    for (size_t pixel = 0; pixel < static_cast<size_t>(under); ++pixel) {
        for (size_t out = 0; out < outs; ++out)
            std::copy_n(&step.weights[out * ins], ins,
                        &all.weights[(pixel * outs + out) * all_ins + pixel * ins]);
        all.bias.insert(all.bias.end(), step.bias.begin(), step.bias.end());
        all.weight_steps.insert(all.weight_steps.end(), step.weight_steps.begin(), step.weight_steps.end());
    }
    return all;
}

}  // namespace

struct Network::Prepared {
    /// For planes of one size and type: of each step that is a convolution, once it was needed. Shared by
    /// threads, since making them takes a while.
    class Convolutions {
    public:
        explicit Convolutions(size_t steps) : of_step_(steps) {}

        template <class Make>
        const Convolution& of(size_t step, const Make& make)
        {
            const std::lock_guard lock(making_);
            std::optional<Convolution>& made = of_step_[step];
            if (!made) made.emplace(make());
            return *made;
        }

    private:
        std::mutex making_;
        std::vector<std::optional<Convolution>> of_step_;
    };

    NetworkGraph graph;

    /// A season's panels come in several sizes, in any order.
    std::shared_ptr<Convolutions> readyFor(const cv::Mat& planes)
    {
        constexpr size_t kKept = 15;
        const Planes these{planes.size(), planes.type()};
        const std::lock_guard lock(choosing_);
        const auto found = std::find_if(ready_.begin(), ready_.end(),
                                        [&these](const auto& one) { return one.first == these; });
        if (found != ready_.end()) {
            ready_.splice(ready_.begin(), ready_, found);
        } else {
            ready_.emplace_front(these, std::make_shared<Convolutions>(graph.steps.size()));
            if (ready_.size() > kKept) ready_.pop_back();
        }
        return ready_.front().second;
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
    Value convolved(size_t i, const Value& from, const Value& plus, Convolutions& ready) const
    {
        const Step& step = graph.steps[i];
        // What a sum of convolutions adds is in numbers: below zero as well.
        const bool bytes = from.scale > 0 && (step.plus < 0 || plus.scale > 0);
        const float to_scale = bytes ? scaleOf(step.to) : 0;
        // What looks at single pixels does so to all that lie under a step at once.
        const bool by_pixel = step.kernel == 1 && step.stride == 1 && step.plus < 0;
        const int under = by_pixel ? from.laid.steps * from.laid.steps : 1;
        const cv::Mat given = by_pixel ? from.laid.held : from.picture();
        const Value added = step.plus < 0 ? plus : to_scale > 0 ? plus : plus.in(0);
        const Convolution& convolution = ready.of(i, [&] {
            const bool by_fours = step.from[0] == 0 && given.channels() != step.in;
            return Convolution(by_fours    ? overFours(step)
                               : under > 1 ? ofEachUnder(step, under)
                                           : step,
                               given.size(), given.depth(), from.scale, to_scale, added.scale);
        });
        const cv::Mat made = convolution.of(given, added.picture());
        if (step.kind == Step::Kind::upsampling) return {{made, step.stride}, to_scale};
        return {{made, by_pixel ? from.laid.steps : 1}, to_scale};
    }

    Value done(size_t i, std::vector<Value> from, const Value& plus, Convolutions& ready) const
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
                return convolved(i, one, plus, ready).in(scaleOf(step.to));
            case Step::Kind::doubling: {
                if (step.plus < 0) return {{doubled(one.picture(), {})}, one.scale};
                const float scale = scaleOf(step.to);
                return {{doubled(one.in(scale).picture(), plus.in(scale).picture())}, scale};
            }
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

private:
    using Planes = std::pair<cv::Size, int>;  // and type
    std::mutex choosing_;
    /// What was asked for last comes first.
    std::list<std::pair<Planes, std::shared_ptr<Convolutions>>> ready_;
};

Network::Network(std::string_view onnx) : prepared_(std::make_unique<Prepared>())
{
    prepared_->graph = readGraph(onnx);
}

Network::~Network() = default;

std::vector<cv::Mat> Network::run(const cv::Mat& planes, const std::vector<std::string>& wanted) const
try {
    const NetworkGraph& graph = prepared_->graph;
    const bool by_fours = planes.type() == CV_8SC(4 * graph.channels);
    if (planes.channels() != graph.channels && !by_fours)
        throw std::runtime_error("a network given other planes than it takes");
    const std::shared_ptr<Prepared::Convolutions> ready = prepared_->readyFor(planes);
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
            // The answer of a convolution takes its place: what is needed again, or is ours only to look at,
            // stays.
            const bool also_from =
                std::find(step.from.begin(), step.from.end(), step.plus) != step.from.end();
            const bool needed_again = step.plus == 0 || also_from || last_use.at(step.plus) != i;
            if (needed_again && step.kind == Step::Kind::convolution) plus.laid.held = plus.laid.held.clone();
        }
        values[step.to] = prepared_->done(i, std::move(from), plus, *ready);
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

cv::Size paddedForNetwork(cv::Size size)
{
    constexpr int kMultiple = 32;
    const auto padded = [](int n) { return (n + kMultiple - 1) / kMultiple * kMultiple; };
    return {padded(size.width), padded(size.height)};
}

std::string logOddsOf(const std::string& output)
{
    return output + " as log-odds";
}

std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size)
{
    std::vector<cv::Mat> planes;
    cv::split(output(cv::Rect({}, size)), planes);
    return planes;
}

}  // namespace slipglass
