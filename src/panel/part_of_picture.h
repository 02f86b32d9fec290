#pragma once
#include "slipglass/panel/panel.h"

namespace slipglass {

/// The part of a picture that a panel comes from, with a margin.
/// @param reduction  full-size px per px of the picture.
cv::Rect partOfPicture(const Panel& panel, const View& view, cv::Size picture, double reduction);

}  // namespace slipglass
