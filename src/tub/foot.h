#pragma once
#include <opencv2/core/mat.hpp>
#include <vector>

#include "slipglass/tub/pose.h"

namespace slipglass {

/// Height on the wall's cone at which the contact line of a foot rounded with `heel_radius` is seen: the foot
/// is set back, so the line of sight that touches it meets the cone above the table.
double seenFootHeight(double heel_radius, double elevation);

/// The edge between a tub's foot and the table, along circles round the cone.
struct FootEdge {
    double z = 0;         ///< height on the cone, in the cone's units, where the edge is seen
    double strength = 0;  ///< mean change of lightness along it, CIE L* per px, clipped
};

/// @param lightness_step  CV_32F, change of L* per px going down; full-size px = picture px * reduction.
/// Searches heights within `reach` of the cone's base. A foot shows as a dark line (contact shadow) that
/// turns lighter on the table below, with the medium or a glint above it.
FootEdge findFoot(const cv::Mat& lightness_step, const Pose& pose, double reduction, double reach);

/// Points of the edge, full-size px, each within `reach` (cone units) of `edge`.
std::vector<cv::Point2d> footPoints(const cv::Mat& lightness_step, const Pose& pose, double reduction,
                                    const FootEdge& edge, double heel_radius, double reach);

}  // namespace slipglass
