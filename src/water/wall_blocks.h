#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "slipglass/panel/panel.h"
#include "slipglass/water/water_level.h"

namespace slipglass {

/// The front of a wall cut into upright strips a few grains wide, each of which gives a vote of its own.
class WallBlocks {
public:
    WallBlocks(const Panel& panel, double width_mm);

    int count() const { return static_cast<int>(middle_mm_.size()); }
    int rows() const { return rows_; }
    double mmPerPx() const { return mm_per_px_; }
    /// Mean of each row of each block; NaN where less than half of the block is seen.
    /// @param plane  CV_32FC1, panel pixels.   @param mask  CV_8UC1, what of it counts.
    /// @return  CV_32FC1, a column for each block.
    cv::Mat means(const cv::Mat& plane, const cv::Mat& mask) const;
    /// Row in a block at which a tilted line lies that crosses the middle of the front at `row`.
    int rowIn(int block, double row, const Tilt& tilt) const;

private:
    int rows_;
    double mm_per_px_, half_mm_ = 1;
    std::vector<int> from_;  ///< first column of each block, and one past the last
    std::vector<double> middle_mm_;
};

/// Sums down the rows of block means, so that the mean of any window costs nothing.
class BlockWindows {
public:
    explicit BlockWindows(const cv::Mat& means);
    /// Mean over rows [from, to) of a block; empty when less than 60 % of them are known.
    std::optional<double> mean(int block, int from, int to) const;

private:
    cv::Mat sum_, known_;  ///< CV_64F, CV_32S; one row more than the means
};

/// What blocks say together. The votes of a tenth of them at either end are left out of the mean.
struct Vote {
    int blocks = 0;    ///< that know it
    double mean = 0;   ///< trimmed
    double error = 0;  ///< standard error of the mean: blocks are of different grains
    double share = 0;  ///< of the blocks that reach at least `least` (see voteOf)

    double atLeast() const { return mean - 1.64 * error; }  ///< with 95 % certainty
    double atMost() const { return mean + 1.64 * error; }
};
Vote voteOf(std::vector<double> values, double least);

}  // namespace slipglass
