#pragma once
#include <array>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "slipglass/frames.h"
#include "slipglass/settings.h"

namespace slipglass {

struct LabelSettings {
    double qr_side_mm = 21.0;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("qr_side_mm", self.qr_side_mm, Bounds{5, 200},
              "Side of the printed QR code (its black square, without the white border) on labels that do "
              "not say it, mm.");
    }
};

/// What a label's QR code says: "T01#21mm" (printed by `slipglass labels`) or a bare tub id.
struct LabelPayload {
    std::string tub;
    std::optional<double> qr_side_mm;  ///< empty on a bare id
};

/// "T01#21mm". The side is printed with as few decimals as give it back exactly to 0.01 mm.
std::string labelText(const std::string& tub, double qr_side_mm);

/// Empty when the text cannot be a tub id: empty, over 64 characters, control characters, or an address
/// (contains "://"), as on a grocery's own code.
std::optional<LabelPayload> parseLabelText(std::string_view text);

/// A label of a tub in its photo.
struct Label {
    std::string tub;
    double qr_side_mm;
    /// Of the QR code, in the order top left, top right, bottom right, bottom left as printed.
    std::array<PhotoPoint, 4> corners;
};

/// A label found in a picture of any kind, be it a reduced photo or an unrolled wall.
struct FoundLabel {
    std::string tub;
    double qr_side_mm;
    /// As a Label's, but in px of the picture given; origin: centre of its top-left pixel.
    std::array<cv::Point2d, 4> corners;
};

/// All labels that can be read, sorted by tub then place; the same code is reported once.
/// Tries several scales, smoothing and contrast, since the wall bends the code and phones add noise.
/// @param bgr  CV_8UC3.
/// @param small_too  also codes whose modules are under 2 px, which takes most of the time where there is no
///                   label: a panel, whose scale is known, shows none.
/// @param tubs  that are known to be in the picture: once the labels of all of them are read, no smaller and
///              no more damaged ones are looked for. Empty: all labels are.
std::vector<FoundLabel> findLabels(const cv::Mat& bgr, const LabelSettings& settings, bool small_too = true,
                                   const std::vector<std::string>& tubs = {});

}  // namespace slipglass
