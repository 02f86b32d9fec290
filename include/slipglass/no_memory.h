#pragma once
#include <exception>

namespace slipglass {

/// Whether it says that the computer had no memory to give: C++'s own, or OpenCV's, which is known by its
/// number.
bool saysNoMemory(const std::exception& thrown);

/// What is then wrong with a photo, and what to do.
constexpr const char* kNoMemoryForIt = "there is too little memory for it";
constexpr const char* kNeedLessMemory = "Save it smaller, or give fewer --threads";

}  // namespace slipglass
