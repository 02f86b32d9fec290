#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <string>

namespace slipglass {

/// The three EXIF fields that matter here, as they stand in the file.
struct ExifFacts {
    int orientation = 1;                            ///< 1..8
    std::optional<std::string> date_time_original;  ///< unchecked
    std::optional<double> focal_35mm;               ///< mm
};

/// `block`: an EXIF block with or without its "Exif\0\0" head. Damaged blocks give what can still be read: a
/// photo is no worse for a broken note in it.
ExifFacts readExif(std::span<const std::uint8_t> block);

}  // namespace slipglass
