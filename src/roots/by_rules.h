#pragma once
#include <optional>

#include "slipglass/roots/find_roots.h"

namespace slipglass {

/// Roots without anything learned: bright even lines (ridge, direction, shape) that stand out from the medium
/// and, where the past is known, were not there then. Kept to measure what learning adds
/// (docs/measured/roots.md) and as a second opinion: settings.json "roots": {"learned": false}.
RootMap rootsByRules(const Panel& panel, const std::optional<EarlierPanel>& past,
                     const RootSettings& settings);

}  // namespace slipglass
