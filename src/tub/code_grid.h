#pragma once
#include <array>
#include <opencv2/core/mat.hpp>
#include <vector>

namespace slipglass {

/// Where the modules of a QR code lie in a picture: a plane in perspective, bent a little (a tub's wall bends
/// it).
class CodeGrid {
public:
    /// A place in the code, in modules from its top left corner, and in the picture, px.
    struct Tie {
        cv::Point2d module, pixel;
    };
    /// The grid nearest to the ties, no more bent than they ask for. @param modules  side of the code.
    CodeGrid(int modules, const std::vector<Tie>& ties);

    int modules() const { return modules_; }
    cv::Point2d pixelAt(cv::Point2d module) const;
    /// Top left, top right, bottom right, bottom left.
    std::array<cv::Point2d, 4> corners() const;

    /// Correlation of picture and code as the grid lies, at most 1. Arguments as for `align`.
    double likeness(const cv::Mat& grey, const cv::Mat& dark) const;

    /// Moves the grid until the picture shows `dark` there.
    /// @param grey  CV_8UC1, smoothed by about a third of a module: with sharp edges, a shift that stays
    /// between
    ///              samples would not be noticed.
    /// @param dark  CV_32FC1, modules x modules: 1 dark, 0 light, NaN where not known.
    void align(const cv::Mat& grey, const cv::Mat& dark);

    /// Dark (1) and light (0) modules as the picture shows them, CV_32FC1; after `align`, which learns the
    /// light.
    cv::Mat readModules(const cv::Mat& grey) const;

    using Warp = std::array<double, 18>;  ///< see warped() in the .cpp
    using Light = std::array<double, 6>;  ///< grey of paper (offset, slopes) and depth of print (the same)

private:
    int modules_;
    double half_side_ = 1;  ///< px, as first fitted; makes the bend's terms pure numbers
    Warp warp_{};
    Light light_{};
};

/// What every QR code of this size shows, CV_32FC1 as for `align`: finder patterns and timing rows; NaN
/// elsewhere.
cv::Mat knownModules(int modules);

}  // namespace slipglass
