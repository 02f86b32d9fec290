#pragma once
#include <string>

namespace slipglass {

/// The style of the report's pages, for pages that stand beside them.
std::string pageStyle();

}  // namespace slipglass
