#pragma once
#include <opencv2/core/mat.hpp>
#include <opencv2/dnn.hpp>
#include <string_view>
#include <vector>

namespace slipglass {

/// A learned map from its ONNX bytes, to run on the processor.
cv::dnn::Net loadedNetwork(std::string_view onnx);

/// What a network is given: planes of one size, CV_32F, padded with 0 on the right and below to what it can
/// halve five times. A plane is 0 until it is set.
class InputPlanes {
public:
    InputPlanes(cv::Size size, int count);

    /// Three planes from `first` on: B, G, R, each 0..1.
    /// @param shown  CV_8U, same size; the planes stay 0 where it is 0. Empty: shown everywhere.
    void setColours(int first, const cv::Mat& bgr, const cv::Mat& shown = {});

    /// The plane itself, to draw on.
    cv::Mat plane(int i);

    const cv::Mat& blob() const { return blob_; }

private:
    cv::Size size_;
    cv::Mat blob_;
};

/// Copies of the planes that a network gave, cut to `size`, which leaves out the padding.
std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size);

}  // namespace slipglass
