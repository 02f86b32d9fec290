#pragma once
#include <optional>
#include <string>

#include "slipglass/date.h"

namespace slipglass {

/// EXIF DateTimeOriginal, "YYYY:MM:DD HH:MM:SS"; empty unless it is exactly that and names a second of a day.
std::optional<TakenAt> parseExifDateTime(const std::string& text);

/// An EXIF date of blanks, or of zeros from a camera whose clock was never set: nothing is said.
bool isUnknownExifDateTime(const std::string& text);

/// Why no photo can have been taken then, to follow "dated"; empty when one can. Without `today` the future
/// is not looked at.
std::string whyImpossible(const TakenAt& taken, std::optional<Date> today);

}  // namespace slipglass
