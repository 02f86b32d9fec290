#pragma once
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <string>
#include <string_view>

namespace slipglass {

// Pictures of our own as the bytes of a file, and back. Not by OpenCV's imgcodecs: a hundred libraries come
// with it, and loading them took longer than all else that a run with nothing new does.

/// @param bgr      CV_8UC3.
/// @param quality  0..100, as libjpeg takes it.
std::string jpegBytes(const cv::Mat& bgr, int quality);

/// fast: a fifth of the time of small, for a tenth more bytes.
enum class PngPacking { fast, small };
/// @param picture  CV_8UC1, CV_8UC3 (BGR), CV_8UC4 (BGRA) or CV_16UC1.
std::string pngBytes(const cv::Mat& picture, PngPacking packing = PngPacking::fast);

/// A mask at another size, a bit a pixel: half the time and a third of the file of a byte each.
/// @param mask  CV_8UC1; all but 0 becomes 255. @param size  of the picture in the file, nearest pixels.
std::string maskBytes(const cv::Mat& mask, cv::Size size);

/// A PNG, JPEG or WebP as it is stored: CV_8UC1, CV_8UC3 (BGR), CV_8UC4 (BGRA) or CV_16UC1 (C3, C4). Empty
/// when it is none of them, or damaged.
cv::Mat pictureIn(std::string_view bytes);

/// The same of a file; empty too where there is none.
cv::Mat pictureFrom(const std::filesystem::path& file);

}  // namespace slipglass
