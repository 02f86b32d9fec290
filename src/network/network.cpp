#include "slipglass/network/network.h"

namespace slipglass {

cv::dnn::Net loadedNetwork(std::string_view onnx)
{
    cv::dnn::Net loaded = cv::dnn::readNetFromONNX(onnx.data(), onnx.size());
    loaded.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    loaded.setPreferableTarget(cv::dnn::DNN_TARGET_CPU);
    return loaded;
}

InputPlanes::InputPlanes(cv::Size size, int count) : size_(size)
{
    constexpr int kMultiple = 32;
    const auto padded = [](int n) { return (n + kMultiple - 1) / kMultiple * kMultiple; };
    const int shape[] = {1, count, padded(size.height), padded(size.width)};
    blob_ = cv::Mat(4, shape, CV_32F, cv::Scalar(0));
}

cv::Mat InputPlanes::plane(int i)
{
    return cv::Mat(blob_.size[2], blob_.size[3], CV_32F, blob_.ptr<float>(0, i))(cv::Rect({}, size_));
}

void InputPlanes::setColours(int first, const cv::Mat& bgr, const cv::Mat& shown)
{
    std::vector<cv::Mat> colours;
    cv::split(bgr, colours);
    for (int i = 0; i < 3; ++i) {
        cv::Mat here = plane(first + i);
        colours[static_cast<size_t>(i)].convertTo(here, CV_32F, 1.0 / 255);
        if (!shown.empty()) here.setTo(0, shown == 0);
    }
}

std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size)
{
    std::vector<cv::Mat> planes;
    for (int i = 0; i < output.size[1]; ++i) {
        const cv::Mat plane(output.size[2], output.size[3], CV_32F,
                            const_cast<float*>(output.ptr<float>(0, i)));
        planes.push_back(plane(cv::Rect({}, size)).clone());
    }
    return planes;
}

}  // namespace slipglass
