#pragma once
#include <string>

#include "slipglass/verify/verify.h"

namespace slipglass {

/// All photos together, in at most 80 columns: one figure a line, with what it means.
std::string summaryTable(const Verification& result);
/// One line a tub, only the figures that differ most between tubs.
std::string tubTable(const Verification& result);
/// One line a photo.
std::string photoTable(const Verification& result);

/// One record a photo, every figure (docs/verify.md), RFC 4180. An unknown figure is an empty field.
std::string agreementCsv(const Verification& result);
/// {"schema_version", "tolerance_px", "all", "tubs", "photos", "problems"}; an unknown figure is null.
std::string agreementJson(const Verification& result);

}  // namespace slipglass
