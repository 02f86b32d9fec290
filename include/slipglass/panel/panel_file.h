#pragma once
#include <optional>
#include <string>

#include "slipglass/panel/panel.h"

namespace slipglass {

/// A panel as it is kept in the season file for later photos to be compared with: its picture, what of it is
/// visible and seen from the front, and its scale. A decoded panel has no pose.
struct PanelFile {
    /// A JPEG, nearly lossless, and a PNG: what is visible, under it what of it from the front; 0.2 MB.
    std::string bytes;
    std::string meta;  ///< JSON
};
PanelFile encodePanel(const Panel& panel);
/// Empty when the bytes are not such a panel.
std::optional<Panel> decodePanel(const PanelFile& file);

}  // namespace slipglass
