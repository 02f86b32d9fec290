#pragma once

namespace slipglass {

/// Upright photo in its full size; origin: centre of the top-left pixel; x right, y DOWN.
/// T: double; a fit puts in a number that carries its derivatives (tub/pose.h).
template <class T>
struct PhotoPointOf {
    T x_px{}, y_px{};
};
using PhotoPoint = PhotoPointOf<double>;

/// A reduced picture of the photo, or of a part of it; the same origin and directions. One of its pixels
/// covers `reduction` px of the photo either way, so that pixels' edges meet, not their centres.
struct PicturePoint {
    double x_px = 0, y_px = 0;
};

inline PhotoPoint photoFromPicture(PicturePoint p, double reduction)
{
    return {(p.x_px + 0.5) * reduction - 0.5, (p.y_px + 0.5) * reduction - 0.5};
}
inline PicturePoint pictureFromPhoto(PhotoPoint p, double reduction)
{
    return {(p.x_px + 0.5) / reduction - 0.5, (p.y_px + 0.5) / reduction - 0.5};
}

/// Unrolled wall. x: round the wall from the line facing the camera, right positive; y: height above the
/// inner base, UP. In the panel's units.
struct PanelPoint {
    double x = 0, y = 0;
};

}  // namespace slipglass
