#include <algorithm>
#include <cmath>
#include <memory>
#include <new>
#include <string>

#include <webp/encode.h>
#include <webp/mux.h>

#include "ffmpeg.h"
#include "slipglass/error.h"
#include "slipglass/film/film.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

constexpr float kWebpQuality = 80;

std::string endingOf(const std::filesystem::path& file)
{
    std::string ending = file.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(), [](unsigned char c) {
        return static_cast<char>(c >= 'A' && c <= 'Z' ? c + 'a' - 'A' : c);
    });
    return ending;
}

/// libwebp says no more than that it failed; with our settings only for want of memory.
void require(int done)
{
    if (!done) throw std::bad_alloc();
}

std::string webp(const std::vector<cv::Mat>& frames, int frame_ms)
{
    WebPAnimEncoderOptions how;
    require(WebPAnimEncoderOptionsInit(&how));
    using Encoder = std::unique_ptr<WebPAnimEncoder, decltype(&WebPAnimEncoderDelete)>;
    const Encoder encoder(WebPAnimEncoderNew(frames.front().cols, frames.front().rows, &how),
                          &WebPAnimEncoderDelete);
    WebPConfig config;
    require(WebPConfigInit(&config));
    config.quality = kWebpQuality;
    int at_ms = 0;
    for (const cv::Mat& frame : frames) {
        WebPPicture picture;
        require(WebPPictureInit(&picture));
        const std::unique_ptr<WebPPicture, decltype(&WebPPictureFree)> freed(&picture, &WebPPictureFree);
        picture.use_argb = 1;
        picture.width = frame.cols;
        picture.height = frame.rows;
        require(WebPPictureImportBGR(&picture, frame.data, static_cast<int>(frame.step)));
        require(WebPAnimEncoderAdd(encoder.get(), &picture, at_ms, &config));
        at_ms += frame_ms;
    }
    require(WebPAnimEncoderAdd(encoder.get(), nullptr, at_ms, nullptr));
    WebPData data;
    WebPDataInit(&data);
    const std::unique_ptr<WebPData, decltype(&WebPDataClear)> cleared(&data, &WebPDataClear);
    require(WebPAnimEncoderAssemble(encoder.get(), &data));
    return {reinterpret_cast<const char*>(data.bytes), data.size};
}

}  // namespace

void checkFilmName(const std::filesystem::path& file)
{
    const std::string ending = endingOf(file);
    if (ending != ".webp" && ending != ".mp4" && ending != ".webm")
        throw Error(file.string(), "does not end in .webp, .mp4 or .webm", "Give -o a name such as T01.webp");
}

void writeFilm(const std::vector<cv::Mat>& frames, double seconds, const std::filesystem::path& file)
{
    checkFilmName(file);
    const int frame_ms = static_cast<int>(std::lround(1000 * seconds));
    const std::string ending = endingOf(file);
    writeFile(file,
              ending == ".webp" ? webp(frames, frame_ms) : videoByFfmpeg(frames, frame_ms, ending, file));
}

}  // namespace slipglass
