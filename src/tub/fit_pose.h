#pragma once
#include <array>
#include <optional>
#include <vector>

#include "slipglass/tub/pose.h"
#include "tub_map.h"

namespace slipglass {

/// Places on the tub's edges, each list of one edge. Foot and rim: their front halves.
struct TubEdges {
    std::vector<EdgePoint> left, right, foot, rim;
    /// Where the picture ends on the tub's wall: that edge lies there or beyond.
    std::vector<PhotoPoint> past_left, past_right, past_foot;
};

/// What is known before the edges are looked at: the most likely value is that of the pose started from, and
/// how far the fit may leave it, one standard deviation.
struct PosePrior {
    double slope_sigma = 0.06;
    double focal_sigma = 0.3;   ///< of log focal length: small when the file tells it
    double height_sigma = 0.4;  ///< of log height of the rim: small when the tub's type is known
    double px_sigma = 1;        ///< typical error of an edge's place, full-size px
};

/// Where the tub was found to stand.
struct PoseFit {
    Pose pose;
    double cost = 0;  ///< half the sum of squares, in units of the spreads above
};

/// Least squares from `start`. Places that disagree with the rest count little.
/// @param corners  an outline set by hand, if any: rim left, rim right, base right, base left.
/// @param corner_sigma  how near they were set, px.
PoseFit fitPose(const Pose& start, const TubEdges& edges, const PosePrior& prior,
                const std::optional<std::array<PhotoPoint, 4>>& corners = std::nullopt,
                double corner_sigma = 1);

/// The same from a start that may be many spreads off: first with the edges' places taken for ten times as
/// far off as they are, which leads near in a few steps.
PoseFit fitPoseFromAfar(const Pose& start, const TubEdges& edges, const PosePrior& prior);

}  // namespace slipglass
