#include "root_net.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <vector>

#include "shown_planes.h"
#include "slipglass/embed.h"
#include "slipglass/network/network.h"
#include "slipglass/panel/colour.h"
#include "slipglass/panel/in_mask.h"
#include "slipglass/roots/root_layer.h"

// The weights travel inside the program.
SLIPGLASS_EMBED(root_map, SLIPGLASS_ROOT_MAP)

namespace slipglass {

namespace {

const Network& network()
{
    static const Network net(rootMapBytes());
    return net;
}

WaterEvidence waterOf(const cv::Mat& out, cv::Size panel)
{
    constexpr int kPx = WaterEvidence::kPx;
    const std::vector<cv::Mat> planes =
        planesOf(out, {(panel.width + kPx - 1) / kPx, (panel.height + kPx - 1) / kPx});
    return {planes[0], planes[1]};
}

/// Colour planes that `teach` may use beside the network's features.
constexpr size_t kColourPlanes = 6;

/// L*, a*, b* of a panel against the median of what is visible of it, in units that change as much as the
/// network's features do; 0 where nothing is visible.
std::vector<cv::Mat> coloursOf(const cv::Mat& bgr, const cv::Mat& visible)
{
    constexpr double kUnit = 20;  // CIE units
    std::vector<cv::Mat> planes;
    cv::Mat smooth;
    cv::GaussianBlur(bgr, smooth, {}, 1.0);
    cv::split(labFromBgr(smooth), planes);
    for (cv::Mat& plane : planes) {
        plane = (plane - medianOf(valuesIn(plane, visible, 4)).value_or(0)) / kUnit;
        plane.setTo(0, visible == 0);
    }
    return planes;
}

/// The network's own features and, after them, the colours of today's panel and of the past.
std::vector<cv::Mat> withColours(std::vector<cv::Mat> features, const Panel& panel,
                                 const std::optional<EarlierPanel>& past)
{
    std::vector<cv::Mat> colours = coloursOf(panel.bgr, panel.visible);
    if (past) {
        for (const cv::Mat& plane : coloursOf(past->bgr, past->visible)) colours.push_back(plane);
    } else {
        colours.resize(kColourPlanes, cv::Mat::zeros(panel.bgr.size(), CV_32F));
    }
    features.insert(features.end(), colours.begin(), colours.end());
    return features;
}

}  // namespace

std::string_view rootMapBytes()
{
    return embedded::root_map();
}

NetReading runNetwork(const Panel& panel, const std::optional<EarlierPanel>& past,
                      const std::optional<RootLayer>& taught)
{
    std::vector<std::string> wanted = {logOddsOf("roots"), "water"};
    if (taught) wanted.emplace_back("features");
    const std::vector<cv::Mat> out = network().run(shownPlanes(panel, past), wanted);
    const std::vector<cv::Mat> said = planesOf(out[0], panel.bgr.size());
    const WaterEvidence water = waterOf(out[1], panel.bgr.size());
    if (!taught) return {said[0], said[1], water};
    const std::vector<cv::Mat> features = withColours(planesOf(out[2], panel.bgr.size()), panel, past);
    return {rootLogOdds(features, *taught), said[1], water};
}

WaterEvidence waterByNetwork(const Panel& panel, const std::optional<EarlierPanel>& past)
{
    return waterOf(network().run(shownPlanes(panel, past), {"water"})[0], panel.bgr.size());
}

std::vector<cv::Mat> rootFeatures(const Panel& panel, const std::optional<EarlierPanel>& past)
{
    const cv::Mat seen = network().run(shownPlanes(panel, past), {"features"})[0];
    return withColours(planesOf(seen, panel.bgr.size()), panel, past);
}

cv::Mat rootLogOdds(const std::vector<cv::Mat>& features, const RootLayer& layer)
{
    if (features.empty() || features.size() != layer.weights.size())
        throw std::invalid_argument("a layer of another network");
    cv::Mat sum(features[0].size(), CV_32F, cv::Scalar(layer.bias));
    for (size_t i = 0; i < features.size(); ++i) cv::scaleAdd(features[i], layer.weights[i], sum, sum);
    return sum;
}

const RootLayer& shippedRootLayer()
{
    static const RootLayer shipped = [] {
        Network::Weights last = Network(rootMapBytes()).lastWeights("roots", 0);
        last.of_channel.resize(last.of_channel.size() + kColourPlanes, 0.0);  // the network does without
        return RootLayer{last.of_channel, last.bias};
    }();
    return shipped;
}

}  // namespace slipglass
