#pragma once

namespace slipglass {

/// Upright photo in its full size; origin: centre of the top-left pixel; x right, y DOWN.
struct PhotoPoint {
    double x_px = 0, y_px = 0;
};

/// Unrolled wall. x: round the wall from the line facing the camera, right positive; y: height above the
/// inner base, UP. In mm when the tub's scale is known, else in units of the tub's own height / 100.
struct PanelPoint {
    double x_mm = 0, y_mm = 0;
};

}  // namespace slipglass
