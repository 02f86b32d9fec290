#pragma once
// Samples as if they had been taken under a purple lamp for plants, which the learned map was not made for.
#include <filesystem>
#include <fstream>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <string>
#include <vector>

#include "season_folder.h"

namespace slipglass::test {

/// The first segment of a JPEG that holds EXIF data, with its marker.
inline std::string exifSegment(const std::string& jpeg)
{
    const size_t at = jpeg.find("\xff\xe1");
    const size_t length =
        static_cast<unsigned char>(jpeg.at(at + 2)) * 256U + static_cast<unsigned char>(jpeg.at(at + 3));
    return jpeg.substr(at, length + 2);
}

/// A photo under a lamp that gives hardly any green; as bright as before. A quarter of the green is no trial
/// any more: the map has seen such lamps.
inline void writeUnderPurpleLamp(const std::filesystem::path& from, const std::filesystem::path& to)
{
    const cv::Mat photo = cv::imread(from.string(), cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
    cv::Mat light, lit;
    photo.convertTo(light, CV_32F, 1 / 255.0);
    cv::pow(light, 2.2, light);
    cv::multiply(light, cv::Scalar(0.9, 0.06, 0.95), lit);  // B, G, R
    const auto mean = [](const cv::Mat& picture) {
        const cv::Scalar m = cv::mean(picture);
        return m[0] + m[1] + m[2];
    };
    lit *= 0.9 * mean(light) / mean(lit);
    cv::min(lit, 1.0, lit);
    cv::pow(lit, 1 / 2.2, lit);
    lit.convertTo(lit, CV_8U, 255);
    std::vector<uchar> bytes;
    cv::imencode(".jpg", lit, bytes, {cv::IMWRITE_JPEG_QUALITY, 92});
    const std::string jpeg(bytes.begin(), bytes.end());
    std::ofstream(to, std::ios::binary)
        << jpeg.substr(0, 2) << exifSegment(readBytes(from)) << jpeg.substr(2);
}

}  // namespace slipglass::test
