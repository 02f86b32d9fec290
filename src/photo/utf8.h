#pragma once
#include <string>

namespace slipglass {

/// `bytes` with whatever is not UTF-8 replaced by '?'; unchanged when it is UTF-8.
std::string asUtf8(const std::string& bytes);

}  // namespace slipglass
