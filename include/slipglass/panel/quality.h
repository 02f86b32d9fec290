#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/observation.h"
#include "slipglass/panel/panel.h"
#include "slipglass/settings.h"

namespace slipglass {

/// Where a photo's figures need caution, and where none are given.
struct QualitySettings {
    double caution_px_per_mm = 3.0, retake_px_per_mm = 1.8;
    double caution_sharpness = 0.50, retake_sharpness = 0.41;
    double caution_lightness = 12, retake_lightness = 5;
    double caution_burnt_percent = 10, retake_burnt_percent = 25;
    double caution_glare_percent = 6;
    double retake_glare_percent = 30;
    double caution_tilt_deg = 10;
    double caution_in_frame = 0.98, least_in_frame = 0.6;
    double caution_filled = 0.94;
    double caution_confidence = 0.6;
    double label_mismatch = 0.15;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("caution_px_per_mm", self.caution_px_per_mm, Bounds{0.1, 100},
              "Pixels of the photo for a mm of wall; fewer: measured with caution, water levels first get "
              "worse. Measured: docs/measured/quality.md, \"Limits\".");
        visit("retake_px_per_mm", self.retake_px_per_mm, Bounds{0.1, 100},
              "The same; fewer: not measured. Measured: docs/measured/quality.md, \"Limits\".");
        visit("caution_sharpness", self.caution_sharpness, Bounds{0, 1},
              "0 blurred .. 1 sharp; below: measured with caution. Measured: docs/measured/quality.md, "
              "\"Limits\".");
        visit("retake_sharpness", self.retake_sharpness, Bounds{0, 1},
              "The same; below: not measured, since roots are then seen where none are. Measured: "
              "docs/measured/quality.md, \"Limits\".");
        visit("caution_lightness", self.caution_lightness, Bounds{0, 100},
              "Median L* of the wall; darker: measured with caution. Measured: docs/measured/quality.md, "
              "\"Limits\".");
        visit("retake_lightness", self.retake_lightness, Bounds{0, 100},
              "The same; darker: not measured. Measured: docs/measured/quality.md, \"Limits\".");
        visit("caution_burnt_percent", self.caution_burnt_percent, Bounds{0, 100},
              "Share of the wall burnt out, percent, from which a figure needs caution. Guess: up to 10 no "
              "harm was measured.");
        visit("retake_burnt_percent", self.retake_burnt_percent, Bounds{0, 100},
              "The same, from which nothing is measured. Guess.");
        visit("caution_glare_percent", self.caution_glare_percent, Bounds{0, 100},
              "Share of the wall under glare, percent, from which a figure needs caution. Measured: "
              "docs/measured/quality.md, \"Limits\".");
        visit("retake_glare_percent", self.retake_glare_percent, Bounds{0, 100},
              "The same, from which nothing is measured. Guess: up to 20 was measured and called for no more "
              "than caution.");
        visit("caution_tilt_deg", self.caution_tilt_deg, Bounds{0, 45},
              "Tilt of the tub in the picture, degrees, from which a figure needs caution. Measured: "
              "docs/measured/quality.md, \"Limits\".");
        visit("caution_in_frame", self.caution_in_frame, Bounds{0, 1},
              "Share of the front wall in the picture below which a figure needs caution. Guess.");
        visit("least_in_frame", self.least_in_frame, Bounds{0, 1},
              "The same, below which nothing is measured. Guess: what is seen is measured, but half a wall "
              "is no wall.");
        visit("caution_filled", self.caution_filled, Bounds{0.1, 100},
              "Height of the medium over the height of the tub's type from which a figure needs caution: "
              "perhaps part of a tub was taken for the whole. Common practice: tubs are filled to 0.9 at "
              "most.");
        visit("caution_confidence", self.caution_confidence, Bounds{0, 1},
              "Confidence in the tub's place below which a figure needs caution. Guess.");
        visit("label_mismatch", self.label_mismatch, Bounds{0.01, 1},
              "Share by which label and tub type may disagree about the scale before one of them is left "
              "out: the type, where its shape does not fit the picture, else the label. Guess.");
    }
};

/// How well a picture shows the wall.
struct Quality {
    double sharpness = 0;             ///< 0 blurred .. 1 sharp
    double glare_percent = 0;         ///< share of the wall lost to glare
    double in_frame = 1;              ///< share of the wall's front that lies within the picture
    bool base_known = true;           ///< else that is the share of what is above the picture's lower edge
    std::vector<std::string> cut;     ///< "left side", "right side", "foot", "top": what the picture lacks
    double lightness = 50;            ///< median L* of the wall facing the camera, glare left out
    double burnt_percent = 0;         ///< share of that wall so light that nothing can be told apart on it
    std::optional<double> px_per_mm;  ///< full-size photo px; empty without a scale
    std::optional<double> filled;     ///< height of the medium over the tub's; empty when that is unknown
    double tilt_deg = 0;              ///< roll of the tub in the picture
    double confidence = 1;            ///< that this is a tub, well placed
    std::string doubt;                ///< what lowers the confidence most, for people
};
Quality qualityOf(const Panel& panel, const Tub& tub, const cv::Mat& bgr, double reduction);

/// One thing that widens the error of a photo's figures, or forbids them.
struct Doubt {
    State state;         ///< caution or retake
    std::string why;     ///< with the number it rests on
    std::string remedy;  ///< how to do better
};

/// Everything that is to be said against a picture, gravest first; empty when it is good.
std::vector<Doubt> doubtsOf(const Quality& quality, const QualitySettings& settings);

}  // namespace slipglass
