#pragma once
// Private to film: what is written below a frame.
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

namespace slipglass {

/// What the colours of roots mean.
struct Legend {
    std::vector<cv::Vec3b> colours;  ///< BGR, one a date, in order
    std::string first, last;         ///< those dates
};

/// The picture with a strip below it that holds the words and, where given, the legend. Sides are made even,
/// as video wants them.
cv::Mat withCaption(const cv::Mat& picture, const std::string& words, const std::optional<Legend>& legend);

}  // namespace slipglass
