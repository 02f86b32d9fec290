#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// How far a root map agrees with what people have drawn: shares 0..1 of what lies under their strokes.
/// Empty: nothing of the kind was drawn.
struct StrokeAgreement {
    std::optional<double> right;                    ///< mean of the two below, or the one there is
    std::optional<double> roots_right, rest_right;  ///< under strokes 'root', and under strokes 'not root'
    /// Share of the wall that nobody has drawn on which is said otherwise than the shipped layer says it.
    double otherwise = 0;
};

/// A photo's coverage with the shipped and with the taught layer.
struct CoverageChange {
    std::string photo, tub;
    double before_percent = 0, after_percent = 0;
};

/// One correction that was learnt from.
struct LearntFrom {
    std::string photo, tub;
    int root_strokes = 0, not_root_strokes = 0;
};

/// What `teach` has learnt: DIR/taught.json.
struct Taught {
    std::string model;  ///< hash of the network that it belongs to
    RootLayer layer;
    double caution = 0;  ///< strength of the pull towards the shipped layer, as chosen
    std::vector<LearntFrom> learnt_from;
    /// On each corrected photo, by a layer that was taught from the other corrected photos only.
    StrokeAgreement held_out_before, held_out_after;
    std::vector<CoverageChange> elsewhere;  ///< photos without strokes
};

/// JSON; the same content gives the same bytes.
std::string taughtText(const Taught& taught);

/// Empty when there is no such file. Throws Error when it is none that `teach` wrote.
std::optional<Taught> readTaught(const std::filesystem::path& file);

}  // namespace slipglass
