#pragma once
#include <array>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "slipglass/settings.h"
#include "slipglass/tub/label.h"
#include "slipglass/tub/pose.h"
#include "slipglass/tub/tub_type.h"

namespace slipglass {

struct TubSettings {
    double min_confidence = 0.35;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("min_confidence", self.min_confidence, Bounds{0, 1},
              "Confidence below which a picture is refused. Measured: docs/measured/refusal.md.");
    }
};

/// A picture to look for a tub in, and what is known about it beforehand.
struct TubQuery {
    cv::Mat bgr;         ///< CV_8UC3, upright
    cv::Size full_size;  ///< of the photo, px
    std::optional<double> focal_35mm;
    std::optional<TubType> type;
    std::optional<Label> label;
    /// Set by hand: rim left, rim right, base right, base left. Believed instead of the picture.
    std::optional<std::array<PhotoPoint, 4>> outline = std::nullopt;
};

/// What hides the wall and belongs to neither medium nor plastic: paper, tape, ink.
struct WallCover {
    cv::Mat share;  ///< CV_32F, 0..1 how likely covered; place (x, y) lies at photo px origin.x + (x + 0.5) *
                    ///< reduction - 0.5, likewise y
    double reduction = 1;  ///< full-size photo px per place
    cv::Point origin{};    ///< full-size photo px
};

/// A misfit this much worse than another speaks against what it comes from. Half a sum of squares, in
/// spreads. Guess.
inline constexpr double kContradictingMisfit = 4.5;

/// The tub's place in a photo. Lengths are mm if `in_mm`, else nominal: the base is taken to be 90 mm wide.
struct Tub {
    Pose pose;  ///< full-size photo px
    bool in_mm = false;
    /// Whether the foot was seen, or its place follows from the rim of a tub type. Else it is out of the
    /// picture: the wall is placed, but how high it is above the base is a guess.
    bool base_known = true;
    std::optional<Label> label;
    /// Size of the label as printed over its size on a tub of the given type: 1 when label and type agree.
    /// Empty without both.
    std::optional<double> label_over_type;
    /// Medium surface: height above the table at `surface_angles`, the part of the front where it can be
    /// told.
    std::vector<double> surface_angles, surface_z;
    WallCover cover;
    /// How badly the edges seen fit the shape of a tub, or of its type where one was given: half the sum of
    /// squares, in spreads.
    double misfit = 0;
    double confidence = 0;  ///< 0..1
    std::string doubt;      ///< what lowers the confidence most, for people; empty when nothing does

    /// Height of the medium's surface above the table at an angle, ends held constant.
    double surfaceAt(double angle) const;
    /// Mean over the front.
    double surfaceMean() const;
};

struct TubFinding {
    std::optional<Tub> tub;
    std::string reason, remedy;  ///< when there is none
};

/// The network that finds tubs, as it travels in the program: what is measured depends on it.
std::string_view tubMapBytes();

/// Looks for one clear tub of medium: straight sides that taper towards a rounded base, medium of one look
/// between.
TubFinding findTub(const TubQuery& query, const TubSettings& settings);

}  // namespace slipglass
