#pragma once
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string_view>
#include <vector>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"
#include "slipglass/panel/water_evidence.h"
#include "slipglass/settings.h"

namespace slipglass {

struct RootSettings {
    bool learned = true;
    double min_probability = 0.35;
    double least_mm = 1.5;
    double surface_mm = 3;
    bool history = true;
    double appears_per_photo = 0.08;
    double vanishes_per_photo = 0.02;
    double max_width_mm = 2.0;  ///< thickest thing called a root, mm; thicker and pale is callus or a grain
    double min_length_mm = 3.0;
    double min_length_alone_mm = 9.0;
    double max_plumpness = 0.25;
    double min_crest = 2.2;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("min_probability", self.min_probability, Bounds{0.05, 0.95},
              "Probability from which the learned map calls a pixel root. Chosen on renderings: "
              "docs/measured/roots.md.");
        visit("least_mm", self.least_mm, Bounds{0, 20},
              "Shortest thing the learned map may call a root, mm. Guess.");
        visit(
            "surface_mm", self.surface_mm, Bounds{0, 20},
            "What lies this near below the medium's surface, four fifths of it or more, is the surface's own "
            "edge, not a root, mm. Chosen on renderings: docs/measured/roots.md.");
        visit("history", self.history,
              "Read all photos of a wall together: a root stays where it is, so what only one photo shows "
              "counts for less, and what glare hides on one photo is known from the others.");
        visit("appears_per_photo", self.appears_per_photo, Bounds{0.001, 0.5},
              "Chance that a place without a root shows one on the next photo. Guess; 0.03 to 0.2 give much "
              "the same (docs/measured/roots.md).");
        visit("vanishes_per_photo", self.vanishes_per_photo, Bounds{0.001, 0.5},
              "Chance that a root is not to be seen at its place any more on the next photo. Guess.");
        // Rules of light and shape in the network's place (by_rules.h): quick and poor, a stand-in for tests
        // of what is not about roots. No setting for users: docs/settings.md leaves out what has no meaning
        // here.
        visit("learned", self.learned);
        visit("max_width_mm", self.max_width_mm, Bounds{0.3, 10});
        visit("min_length_mm", self.min_length_mm, Bounds{0, 50});
        visit("min_length_alone_mm", self.min_length_alone_mm, Bounds{0, 100});
        visit("max_plumpness", self.max_plumpness, Bounds{0.01, 1});
        visit("min_crest", self.min_crest, Bounds{0.1, 20});
    }
};

/// Which panel pixels show a root.
struct RootMap {
    cv::Mat mask;      ///< CV_8UC1 0/255, within the panel's wall
    cv::Mat browned;   ///< CV_8UC1 0/255, the part of `mask` that is browned
    cv::Mat log_odds;  ///< CV_32FC1, log-odds that a pixel shows a root; kSaidLogOdds either way where a
                       ///< person said so
    cv::Mat if_root_browned;  ///< CV_8UC1 0/255, which pixels would be browned if they showed a root
};

/// Log-odds of what a person has said: no photo outweighs it.
constexpr float kSaidLogOdds = 20;

/// The root map that log-odds give: mask and browned, without specks, within the panel's wall.
RootMap rootsFromLogOdds(const Panel& panel, const cv::Mat& log_odds, const cv::Mat& if_root_browned,
                         const RootSettings& settings);

/// The learned map's last step: probability = 1 / (1 + exp(-(sum of weight x feature) - bias)).
struct RootLayer {
    std::vector<double> weights;  ///< one a feature of the network
    double bias = 0;
};

/// What the network sees on a panel.
struct PanelReading {
    RootMap roots;
    WaterEvidence water;
};

/// Roots and water on a panel, from one pass of the network. What was there before tells grains that were
/// always there from roots that were not, and a wall that was dry from one that is wet.
/// @param taught  used instead of the learned map's own last layer; the rules take no notice of it.
PanelReading readPanel(const Panel& panel, const std::optional<EarlierPanel>& past,
                       const RootSettings& settings, const std::optional<RootLayer>& taught = std::nullopt);

/// The wall before without the places where it shows roots already: where the past is not known, what is
/// there today is judged by itself.
/// @param past  as today's panel sees it.
EarlierPanel withRootsHidden(const EarlierPanel& past, const Panel& today, const RootSettings& settings,
                             const std::optional<RootLayer>& taught = std::nullopt);

/// The roots alone.
RootMap findRoots(const Panel& panel, const std::optional<EarlierPanel>& past, const RootSettings& settings,
                  const std::optional<RootLayer>& taught = std::nullopt);

/// The shipped network's file: figures taken with another one do not compare.
std::string_view rootMapBytes();

/// What is measured on a root map, over the frontal wall. Lengths in the panel's units; empty when nothing is
/// visible, or, for widths and heights, when there is no root.
struct RootFigures {
    std::optional<double> coverage_percent, length, width, browned_percent, deepest;
};
RootFigures rootFigures(const Panel& panel, const RootMap& roots);

}  // namespace slipglass
