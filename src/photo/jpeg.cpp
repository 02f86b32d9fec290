// JPEG with libjpeg itself: it scales while decoding, and tells of missing data, which OpenCV paints over in
// grey.
#include <cstddef>
#include <cstdio>

#include <jpeglib.h>

#include <jerror.h>

#include <array>
#include <csetjmp>
#include <cstring>
#include <new>
#include <opencv2/imgproc.hpp>

#include "formats.h"

namespace slipglass {

namespace {

/// libjpeg's state and where to go when it gives up.
struct Jpeg {
    jpeg_decompress_struct info{};
    jpeg_error_mgr errors{};
    jpeg_progress_mgr progress{};
    std::jmp_buf gave_up{};
    std::array<char, JMSG_LENGTH_MAX> message{};

    Jpeg();
    ~Jpeg() { jpeg_destroy_decompress(&info); }
    Jpeg(const Jpeg&) = delete;
    Jpeg& operator=(const Jpeg&) = delete;
};

[[noreturn]] void giveUp(j_common_ptr info)
{
    auto* jpeg = static_cast<Jpeg*>(info->client_data);
    info->err->format_message(info, jpeg->message.data());
    std::longjmp(jpeg->gave_up, 1);
}

/// Warnings that mean pixels are missing or wrong. The others (odd version numbers, padding between segments)
/// are found in sound photos.
bool meansDamage(int code)
{
    switch (code) {
        case JWRN_JPEG_EOF:
        case JWRN_HIT_MARKER:
        case JWRN_HUFF_BAD_CODE:
        case JWRN_ARITH_BAD_CODE:
        case JWRN_MUST_RESYNC:
        case JWRN_BOGUS_PROGRESSION:
            return true;
        default:
            return false;
    }
}

void onMessage(j_common_ptr info, int level)
{
    if (level < 0 && meansDamage(info->err->msg_code)) giveUp(info);
}

/// A photo saved step by step goes over its pixels some ten times; a file made to hold a computer up does
/// thousands of times, in as many bytes a time.
void countScans(j_common_ptr info)
{
    constexpr int kMost = 64;
    if (reinterpret_cast<j_decompress_ptr>(info)->input_scan_number <= kMost) return;
    auto* jpeg = static_cast<Jpeg*>(info->client_data);
    std::snprintf(jpeg->message.data(), jpeg->message.size(), "it goes over its pixels more than %d times",
                  kMost);
    std::longjmp(jpeg->gave_up, 1);
}

/// Runs `step`, which may call libjpeg and must create nothing that needs destroying: libjpeg leaves it by
/// longjmp.
template <class Step>
void run(Jpeg& jpeg, const Step& step)
{
    if (setjmp(jpeg.gave_up) != 0) {
        if (jpeg.errors.msg_code == JERR_OUT_OF_MEMORY) throw std::bad_alloc();
        throw Unreadable(std::string("damaged JPEG: ") + jpeg.message.data());
    }
    step();
}

Jpeg::Jpeg()
{
    info.err = jpeg_std_error(&errors);
    errors.error_exit = giveUp;
    errors.emit_message = onMessage;
    info.client_data = this;
    try {
        run(*this, [&] { jpeg_create_decompress(&info); });
    } catch (...) {
        jpeg_destroy_decompress(&info);
        throw;
    }
    progress.progress_monitor = countScans;
    info.progress = &progress;
}

void readHeader(Jpeg& jpeg, Bytes file)
{
    run(jpeg, [&] {
        jpeg_mem_src(&jpeg.info, file.data(), static_cast<unsigned long>(file.size()));
        jpeg_save_markers(&jpeg.info, JPEG_APP0 + 1, 0xffff);
        jpeg_read_header(&jpeg.info, TRUE);
    });
}

Bytes exifBlock(const jpeg_decompress_struct& info)
{
    for (const auto* marker = info.marker_list; marker; marker = marker->next) {
        if (marker->data_length > 6 && std::memcmp(marker->data, "Exif\0\0", 6) == 0)
            return {marker->data, marker->data_length};
    }
    return {};
}

bool isCmyk(const jpeg_decompress_struct& info)
{
    return info.jpeg_color_space == JCS_CMYK || info.jpeg_color_space == JCS_YCCK;
}

/// `cmyk`: 255 = full ink, or the reverse where Adobe's marker says so (libjpeg.txt, "Special color spaces").
cv::Mat bgrFromCmyk(const cv::Mat& cmyk, bool reversed)
{
    cv::Mat light = cmyk;
    if (!reversed) cv::bitwise_not(cmyk, light);
    std::array<cv::Mat, 4> channels;
    cv::split(light, channels.data());
    std::array<cv::Mat, 3> bgr;
    for (size_t i = 0; i < 3; ++i) cv::multiply(channels[2 - i], channels[3], bgr[i], 1.0 / 255);
    cv::Mat merged;
    cv::merge(bgr.data(), bgr.size(), merged);
    return merged;
}

}  // namespace

PictureHeader jpegHeader(Bytes file)
{
    Jpeg jpeg;
    readHeader(jpeg, file);
    PictureHeader header;
    header.stored = {static_cast<int>(jpeg.info.image_width), static_cast<int>(jpeg.info.image_height)};
    if (const Bytes block = exifBlock(jpeg.info); !block.empty()) header.exif = readExif(block);
    return header;
}

cv::Mat decodeJpeg(Bytes file, int reduction)
{
    Jpeg jpeg;
    readHeader(jpeg, file);
    jpeg_decompress_struct& info = jpeg.info;
    info.scale_num = 1;
    info.scale_denom = static_cast<unsigned>(reduction);
    info.out_color_space = isCmyk(info) ? JCS_CMYK : JCS_EXT_BGR;
    run(jpeg, [&] { jpeg_calc_output_dimensions(&info); });
    cv::Mat pixels(static_cast<int>(info.output_height), static_cast<int>(info.output_width),
                   isCmyk(info) ? CV_8UC4 : CV_8UC3);
    run(jpeg, [&] {
        jpeg_start_decompress(&info);
        while (info.output_scanline < info.output_height) {
            JSAMPROW row = pixels.ptr(static_cast<int>(info.output_scanline));
            jpeg_read_scanlines(&info, &row, 1);
        }
        jpeg_finish_decompress(&info);  // reads to the end mark, so a file cut just before it is noticed
    });
    return isCmyk(info) ? bgrFromCmyk(pixels, info.saw_Adobe_marker != 0) : pixels;
}

}  // namespace slipglass
