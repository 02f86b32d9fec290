#pragma once
// Private to film: the program ffmpeg makes videos, as a process of its own.
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <string>
#include <vector>

namespace slipglass {

/// The bytes of a video. @param ending  ".mp4" or ".webm".  @param file  its name, for messages.
/// Throws Error when ffmpeg is not installed or fails.
std::string videoByFfmpeg(const std::vector<cv::Mat>& frames, int frame_ms, const std::string& ending,
                          const std::filesystem::path& file);

}  // namespace slipglass
