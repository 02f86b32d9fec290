#pragma once
#include <oneapi/dnnl/dnnl.hpp>
#include <opencv2/core/mat.hpp>

#include "graph.h"

namespace slipglass {

/// A convolution made ready for pictures of one size. It takes bytes and gives bytes, or numbers; or takes
/// numbers and gives numbers.
class Convolution {
public:
    /// @param from_depth            of what it takes: CV_32F, CV_8U, CV_8S.
    /// @param from_scale, to_scale  of the values; 0: numbers. Bytes can only be made of bytes.
    Convolution(const Step& step, cv::Size size, int from_depth, float from_scale, float to_scale,
                float plus_scale);

    /// @param plus  what is added, if anything: the answer takes its place.
    cv::Mat of(const cv::Mat& value, const cv::Mat& plus) const;

private:
    dnnl::convolution_forward does_;
    dnnl::memory::desc from_, to_, scratch_;
    int to_type_ = 0;
    dnnl::memory weights_, bias_;
};

}  // namespace slipglass
