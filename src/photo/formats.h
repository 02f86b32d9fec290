#pragma once
// One reader per file format. Each gives the header without decoding pixels, and the pixels as they are
// stored.
#include <cstdint>
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <span>
#include <stdexcept>

#include "exif.h"

namespace slipglass {

using Bytes = std::span<const std::uint8_t>;

/// What is wrong with a file, without its name; readFacts and readPicture turn it into an Error.
class Unreadable : public std::runtime_error {
public:
    using std::runtime_error::runtime_error;
};

/// Several pictures, one after the other.
class Animation : public Unreadable {
public:
    Animation() : Unreadable("is an animation, not a photo") {}
};

struct PictureHeader {
    cv::Size stored;  ///< px, before `exif.orientation` is applied
    ExifFacts exif;
};

// Every decode* gives CV_8UC3, BGR, in the size its header function gave, alpha laid over mid grey.
// Every function throws Unreadable when the file is damaged or incomplete; those of headers, Animation.

PictureHeader jpegHeader(Bytes file);
/// `reduction` is 1, 2, 4 or 8; the size is that of the header divided by it, rounded up.
cv::Mat decodeJpeg(Bytes file, int reduction);

PictureHeader pngHeader(Bytes file);
cv::Mat decodePng(Bytes file);

PictureHeader webpHeader(Bytes file);
cv::Mat decodeWebp(Bytes file);
/// Its alpha left as it is: CV_8UC4 where it has any.
cv::Mat storedWebp(Bytes file);

PictureHeader tiffHeader(const std::filesystem::path& path);
cv::Mat decodeTiff(const std::filesystem::path& path);

bool isHeic(Bytes file);
/// The size after the file's own rotation, and orientation 1 whatever its EXIF data say.
PictureHeader heicHeader(Bytes file);
cv::Mat decodeHeic(Bytes file);

/// CV_8UC4 BGRA with straight alpha, laid over mid grey: CV_8UC3.
cv::Mat overMidGrey(const cv::Mat& bgra);

}  // namespace slipglass
