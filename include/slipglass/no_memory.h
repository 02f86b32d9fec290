#pragma once
#include <exception>

namespace slipglass {

/// Whether it says that the computer had no memory to give: C++'s own, or OpenCV's, which is known by its
/// number.
bool saysNoMemory(const std::exception& thrown);

}  // namespace slipglass
