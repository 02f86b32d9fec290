#pragma once
#include <exception>
#include <system_error>

namespace slipglass {

/// Whether it says that the computer had no memory to give: C++'s own, the system's, or OpenCV's, which is
/// known by its number.
bool saysNoMemory(const std::exception& thrown);

/// Throws std::bad_alloc where the system says so: it is no matter of the file that was asked about.
void throwIfNoMemory(const std::error_code& said);

/// What is then wrong with a photo, and what to do.
constexpr const char* kNoMemoryForIt = "there is too little memory for it";
constexpr const char* kNeedLessMemory = "Save it smaller, or give fewer --threads";

}  // namespace slipglass
