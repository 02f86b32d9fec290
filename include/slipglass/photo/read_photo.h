#pragma once
#include <cstdint>
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>

#include "slipglass/date.h"
#include "slipglass/photo/list_photos.h"
#include "slipglass/settings.h"

namespace slipglass {

/// What a picture file says of itself, read without decoding its pixels.
struct PhotoFacts {
    cv::Size upright_size;     ///< px, after orientation
    std::uintmax_t bytes = 0;  ///< of the file
    int orientation = 1;  ///< EXIF/TIFF Orientation 1..8 still to be applied; 1 for HEIC, which turns itself
    std::optional<TakenAt> exif_taken;  ///< DateTimeOriginal, if it can be true
    std::optional<double> focal_35mm;   ///< FocalLengthIn35mmFilm, mm
    std::string why_no_date;            ///< why an EXIF date was not believed, empty if there was none
};

/// What is opened at most: a file of some kilobytes can hold a picture that takes minutes, and all memory.
struct PhotoLimits {
    double most_megapixels = 65;
    int most_side_px = 20000;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("most_megapixels", self.most_megapixels, Bounds{1, 2000},
              "Pixels that a photo may have, millions; one that has more is refused before it is decoded. "
              "Guess: what phones take at their usual settings has 12 to 50, and 64 at most.");
        visit("most_side_px", self.most_side_px, Bounds{1000, 200000},
              "Rows or columns that a photo may have, px. Guess: 200 megapixels of a phone are 16,320 wide.");
    }
};

/// Bytes that a file within the limits has at most: 16 bits in four colours without packing, and room for a
/// short film, which phones put behind a photo.
std::uintmax_t mostBytes(const PhotoLimits& limits);

/// The kind of file is told by its content, whatever its ending.
/// Throws Error when the file is not a readable picture (truncated header, wrong kind, empty) or beyond the
/// limits: said before any pixel is decoded.
PhotoFacts readFacts(const std::filesystem::path& path, const PhotoLimits& limits = {});

/// The day a photo was taken: typed in the name, else EXIF DateTimeOriginal, else the phone's own name
/// pattern (IMG_20260112_093010, PXL_20260112_093010123, 20260112_093010, ...). A typed day takes the time of
/// day of EXIF or of the phone's pattern where they show the same day. File times are never trusted. Throws
/// Error when there is none, or it cannot be true (before 2000, after `today`, a camera's reset date). A
/// typed day that cannot be true is always an Error; an EXIF date that cannot is one unless the phone's name
/// has a better.
TakenAt takenAt(const PhotoFile& file, const PhotoFacts& facts, Date today);

/// A decoded upright picture.
struct Picture {
    cv::Mat bgr;         ///< CV_8UC3, sRGB, upright, at most full size
    cv::Size full_size;  ///< upright size of the file's picture, px
    /// Full-size px per px of `bgr`: 1, 2, 4 or 8. `bgr` has full_size / reduction px, rounded up; the centre
    /// of its px (x, y) lies at ((x + 0.5) * reduction - 0.5, ...) of the full-size upright picture, whatever
    /// the orientation.
    double reduction = 1;
};

/// Decodes at the largest reduction (1, 2, 4, 8) that leaves the long side at least `long_side_px` px, or at
/// full size. A JPEG is never decoded larger than that, unless it is turned and its sides are not multiples
/// of the reduction. Colour, grey or CMYK, 8 or 16 bit, alpha laid over mid grey; a HEIC file's own rotation
/// is applied once. Throws Error when the pixels cannot be decoded completely: a truncated photo is never
/// half a picture. Throws std::invalid_argument when long_side_px < 1.
Picture readPicture(const std::filesystem::path& path, const PhotoFacts& facts, int long_side_px);

}  // namespace slipglass
