#pragma once
#include <functional>
#include <optional>
#include <string>

#include "slipglass/observation.h"

namespace slipglass {

/// Does something with one photo. Whatever is thrown is its row of problems.csv, and the run goes on: one odd
/// picture must not cost a season of readings. Only a RunError, which is no photo's fault, is thrown on.
/// @param tub  that it shows, where one is known.
/// @return  what went wrong.
std::optional<Problem> tryPhoto(const std::string& photo, const std::string& tub,
                                const std::function<void()>& work);

/// Whether the computer was short of something, so that the same photo may well be measured another time.
bool isPassing(const Problem& problem);

}  // namespace slipglass
