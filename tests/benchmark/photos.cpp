#include "photos.h"

#include <unistd.h>

#include <fstream>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/error.h"

namespace slipglass::benchmark {

namespace fs = std::filesystem;

TemporaryFolder::TemporaryFolder()
    : path_(fs::temp_directory_path() / ("slipglass-benchmark-" + std::to_string(getpid())))
{
    fs::create_directories(path_);
}

TemporaryFolder::~TemporaryFolder()
{
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

fs::path writePhonePhoto(const fs::path& sample, const fs::path& folder)
{
    cv::Mat large, noise;
    cv::Mat photo = cv::imread(sample.string());
    if (photo.empty()) throw Error(sample.string(), "cannot be read", "Run from a complete checkout");
    cv::resize(photo, large, {3000, 4000}, 0, 0, cv::INTER_CUBIC);
    noise.create(large.size(), CV_16SC3);
    // A phone's noise indoors, levels: guess. With it the file has the 3 to 4 MB that such phones write; with
    // half of it 2, and less work for who decodes it.
    cv::RNG(20260112).fill(noise, cv::RNG::NORMAL, 0, 8);
    cv::add(large, noise, large, {}, CV_8U);
    fs::path path = folder / sample.filename();
    // OpenCV writes 4:2:0 unless told otherwise.
    cv::imwrite(path.string(), large, {cv::IMWRITE_JPEG_QUALITY, 90});
    return path;
}

}  // namespace slipglass::benchmark
