#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>

#include "slipglass/frames.h"
#include "slipglass/settings.h"
#include "slipglass/tub/find_tub.h"

namespace slipglass {

struct PanelSettings {
    /// Side of a panel pixel, mm (nominal without a scale): a thin root (0.4 mm) covers nearly three, a
    /// phone's photo gives about as many.
    double unit_per_px = 0.15;
    double frontal_deg = 60;
    double floor_mm = 1.4;
    double edge_mm = 0.4;
    double glare_lightness = 96;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("frontal_deg", self.frontal_deg, Bounds{20, 75},
              "Largest angle between the wall's normal and the line of sight at which figures are taken, "
              "degrees: beyond it a root's width shrinks to less than half.");
        visit("floor_mm", self.floor_mm, Bounds{0, 10},
              "Height above the inner base where the rounded heel ends and the wall begins, mm. Guess.");
        visit("edge_mm", self.edge_mm, Bounds{0, 5},
              "Strip along each side of the tub, as wide in the photo as this on the wall facing the camera, "
              "that is left out: there the plastic is seen edge on, mm. Measured: docs/measured/tub.md.");
        visit("glare_lightness", self.glare_lightness, Bounds{70, 100},
              "Lightest L* the wall may show over an area before it is a reflection that hides what is "
              "behind.");
    }
};

/// The wall unrolled. Its unit of length is the mm where the photo has a scale, else nominal (Tub): what is
/// told in mm goes through `mm`. Column c, row r show x = (c - columns / 2) * unit_per_px round the wall and
/// y = top - r * unit_per_px above the inner base: equal areas of wall are equal areas of panel.
struct Panel {
    cv::Mat bgr;   ///< CV_8UC3
    cv::Mat wall;  ///< CV_8UC1, 255 where the wall shows medium: not label, not above the surface, within the
                   ///< frame
    cv::Mat visible;  ///< CV_8UC1, wall less glare
    cv::Mat frontal;  ///< CV_8UC1, visible wall seen at less than PanelSettings::frontal_deg: figures are
                      ///< taken here
    double unit_per_px = 1;
    double top = 0;
    bool in_mm = false;      ///< its unit is the mm
    bool base_known = true;  ///< else heights are guessed, see Tub
    Pose inner;              ///< the inside of the wall, full-size photo px
    double px_per_unit =
        0;  ///< full-size photo px per unit at the wall facing the camera, half the filled height

    /// A length of this panel in mm; empty where its unit is nominal, or there is none.
    std::optional<double> mm(std::optional<double> length) const { return in_mm ? length : std::nullopt; }

    /// The column that faces the camera. Panels have an odd number of columns.
    int middleColumn() const { return wall.cols / 2; }
    PanelPoint pointAt(double column, double row) const
    {
        return {(column - middleColumn()) * unit_per_px, top - row * unit_per_px};
    }
    double columnAt(double x) const { return x / unit_per_px + middleColumn(); }
    double rowAt(double y) const { return (top - y) / unit_per_px; }
};

/// Unrolls the wall of a tub.
/// @param bgr        CV_8UC3, upright.
/// @param reduction  full-size px per px of `bgr`.
Panel unrollWall(const cv::Mat& bgr, double reduction, const Tub& tub, const PanelSettings& settings);

PhotoPoint photoFromPanel(const Panel& panel, PanelPoint point);
/// Empty when the line of sight misses the tub.
std::optional<PanelPoint> panelFromPhoto(const Panel& panel, PhotoPoint point);

/// A panel mask as it looks in the photo, CV_8UC1 0/255.
/// @param size, reduction  of the picture to draw for; full-size px = its px * reduction.
cv::Mat photoMask(const Panel& panel, const cv::Mat& mask, cv::Size size, double reduction);

}  // namespace slipglass
