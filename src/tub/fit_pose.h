#pragma once
#include <array>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "slipglass/tub/pose.h"

namespace slipglass {

/// Points of the tub's edges found in the picture, full-size photo px.
struct EdgePoints {
    std::vector<cv::Point2d> left, right;  ///< on the sides
    std::vector<cv::Point2d> foot;         ///< where the tub's foot meets the table, on the front half
};

/// What is known before the edges are looked at, and how far the fit may leave it.
struct PosePrior {
    bool cone_known = false;   ///< keep the cone's slope as given
    double focal_sigma = 0.3;  ///< spread of log focal length: small when the file tells it
    bool pitch_known = false;  ///< keep the pitch as given
    double px_sigma = 1;       ///< typical error of an edge point, full-size px
};

/// Least squares from `start`. Edge points that disagree with the rest count little.
Pose fitPose(const Pose& start, const EdgePoints& edges, const PosePrior& prior, double heel_radius);

/// Least squares from `start` to an outline set by hand: rim left, rim right, base right, base left,
/// full-size photo px. The rim's height is held to only where the cone's is known.
struct CornerFit {
    Pose pose;
    double cost = 0;  ///< half the sum of squares, in units of prior.px_sigma and the priors' spreads
};
/// @param foot  points where the tub's foot is seen to meet the table, if any.
CornerFit fitPoseToCorners(const Pose& start, const std::array<PhotoPoint, 4>& corners,
                           const std::vector<cv::Point2d>& foot, const PosePrior& prior, double heel_radius);

}  // namespace slipglass
