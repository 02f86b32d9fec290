#pragma once
#include <string>
#include <string_view>

namespace slipglass {

/// Hash of bytes as 16 hex digits (XXH3, 64 bit).
std::string contentHash(std::string_view bytes);

}  // namespace slipglass
