#pragma once
// Private to report: text where there is little room.
#include <string>

namespace slipglass {

/// An id in at most so many columns; what is cut is its middle, since ids differ at their ends.
std::string cutInMiddle(const std::string& id, std::size_t columns);
/// Text in at most so many columns; what is cut is its end.
std::string cutAt(const std::string& text, std::size_t columns);

}  // namespace slipglass
