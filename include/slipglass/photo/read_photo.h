#pragma once
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>

#include "slipglass/date.h"
#include "slipglass/photo/list_photos.h"

namespace slipglass {

/// What a picture file says of itself, read without decoding its pixels.
struct PhotoFacts {
    cv::Size upright_size;                 ///< px, after orientation
    int orientation = 1;                   ///< EXIF/TIFF Orientation 1..8 still to be applied to the stored pixels
    std::optional<TakenAt> exif_taken;     ///< DateTimeOriginal, if it can be true
    std::optional<double> focal_35mm;      ///< FocalLengthIn35mmFilm, mm
    std::string why_no_date;               ///< why an EXIF date was not believed, empty if there was none
};

/// Throws Error when the file is not a readable picture (truncated header, wrong kind, empty) or has more than
/// `max_megapixels`: said before any pixel is decoded.
PhotoFacts readFacts(const std::filesystem::path& path, double max_megapixels = 80);

/// The day a photo was taken: typed in the name, else EXIF DateTimeOriginal, else the phone's own name pattern
/// (IMG_20260112_093010, PXL_20260112_093010123, 20260112_093010, ...). File times are never trusted.
/// Throws Error when there is none, or it cannot be true (before 2000, after `today`, a camera's reset date).
TakenAt takenAt(const PhotoFile& file, const PhotoFacts& facts, Date today);

/// A decoded upright picture.
struct Picture {
    cv::Mat bgr;           ///< CV_8UC3, sRGB, upright, at most full size
    cv::Size full_size;    ///< upright size of the file's picture, px
    double reduction = 1;  ///< full-size px per px of `bgr`; 1, 2, 4 or 8 for JPEG
};

/// Decodes at the smallest size whose long side is still at least `long_side_px` (or full size if smaller).
/// Colour or grey, 8 or 16 bit, alpha laid over mid grey; a HEIC file's own rotation is applied once.
/// Throws Error when the pixels cannot be decoded completely.
Picture readPicture(const std::filesystem::path& path, const PhotoFacts& facts, int long_side_px);

}  // namespace slipglass
