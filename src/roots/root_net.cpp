#include "root_net.h"

#include <opencv2/dnn.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

// The weights travel inside the program: nothing to install, nothing to lose.
asm(".section .rodata\n"
    ".global slipglass_root_map\n"
    ".global slipglass_root_map_end\n"
    ".balign 16\n"
    "slipglass_root_map:\n"
    ".incbin \"" SLIPGLASS_ROOT_MAP
    "\"\n"
    "slipglass_root_map_end:\n"
    ".previous\n");
extern "C" const char slipglass_root_map[];
extern "C" const char slipglass_root_map_end[];

namespace slipglass {

namespace {

constexpr int kMultiple = 32;  // the network halves the picture this often

/// Three planes of a picture, 0..1, at a place of the input blob; zero beyond the picture and where `shown`
/// is 0.
void fillPlanes(cv::Mat& blob, int first_channel, const cv::Mat& bgr, const cv::Mat& shown)
{
    std::vector<cv::Mat> planes;
    cv::split(bgr, planes);
    for (int i = 0; i < 3; ++i) {
        cv::Mat plane(blob.size[2], blob.size[3], CV_32F, blob.ptr<float>(0, first_channel + i));
        cv::Mat part = plane(cv::Rect({}, bgr.size()));
        planes[static_cast<size_t>(i)].convertTo(part, CV_32F, 1.0 / 255);
        if (!shown.empty()) part.setTo(0, shown == 0);
    }
}

cv::dnn::Net& network()
{
    // One per thread: a network keeps the results of its layers.
    thread_local cv::dnn::Net net = [] {
        cv::dnn::Net loaded = cv::dnn::readNetFromONNX(
            slipglass_root_map, static_cast<size_t>(slipglass_root_map_end - slipglass_root_map));
        loaded.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
        loaded.setPreferableTarget(cv::dnn::DNN_TARGET_CPU);
        return loaded;
    }();
    return net;
}

}  // namespace

std::string_view rootMapBytes()
{
    return {slipglass_root_map, static_cast<size_t>(slipglass_root_map_end - slipglass_root_map)};
}

RootProbability rootProbability(const Panel& panel, const std::optional<EarlierPanel>& first)
{
    const cv::Size size = panel.bgr.size();
    const auto padded = [](int n) { return (n + kMultiple - 1) / kMultiple * kMultiple; };
    const int shape[] = {1, 6, padded(size.height), padded(size.width)};
    cv::Mat blob(4, shape, CV_32F, cv::Scalar(0));
    fillPlanes(blob, 0, panel.bgr, {});
    if (first) fillPlanes(blob, 3, first->bgr, first->visible);

    network().setInput(blob);
    cv::Mat out = network().forward("roots");
    const auto plane = [&](int channel) {
        return cv::Mat(shape[2], shape[3], CV_32F, out.ptr<float>(0, channel))(cv::Rect({}, size)).clone();
    };
    return {plane(0), plane(1)};
}

}  // namespace slipglass
