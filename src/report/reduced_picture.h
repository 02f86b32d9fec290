#pragma once
// Private to report: pictures inside a page.
#include <filesystem>
#include <string>

namespace slipglass {

/// A picture file as a data address (RFC 2397), made smaller to so many px at its long side: PNG as PNG, all
/// else as JPEG. "data:," for one that cannot be read: the page then shows what it would have shown.
std::string reducedPicture(const std::filesystem::path& file, int long_side);

}  // namespace slipglass
