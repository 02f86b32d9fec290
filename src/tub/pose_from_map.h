#pragma once
#include "fit_pose.h"
#include "one_tub.h"
#include "slipglass/tub/find_tub.h"

namespace slipglass {

/// Places by which an edge is known.
constexpr size_t kFewest = 5;

/// The edges that a map shows of its tub, as far as they are in the photo.
TubEdges edgesOf(const TubMap& map, cv::Size photo);

/// The pose that fits the edges of a tub best. What contradicts the rest is left out: the far edge of the
/// medium's top, or a lid, can be taken for a rim, and glare for a side that is out of the picture. The foot
/// is then looked at from nearer.
PoseFit poseFromMap(const TubQuery& query, const OneTub& seen, const TubEdges& edges);

/// The pose at which a person has drawn the tub (TubQuery::outline). Corners hardly tell how far the camera
/// looks down: the foot's curve does, where one is seen near the foot drawn.
/// @param map  of the whole photo.
Pose poseFromCorners(const TubQuery& query, const TubMap& map);

}  // namespace slipglass
