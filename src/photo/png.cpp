#include <png.h>

#include <cstring>
#include <new>
#include <opencv2/core.hpp>

#include "formats.h"

namespace slipglass {

namespace {

/// libpng's simplified reader: every depth, palette and interlace to 8-bit sRGB.
struct Png {
    png_image image{};

    explicit Png(Bytes file)
    {
        image.version = PNG_IMAGE_VERSION;
        if (!png_image_begin_read_from_memory(&image, file.data(), file.size())) fail();
        // Without it, libpng takes 16-bit samples to be linear light, which no camera or scanner program
        // writes.
        image.flags |= PNG_IMAGE_FLAG_16BIT_sRGB;
    }
    ~Png() { png_image_free(&image); }
    Png(const Png&) = delete;
    Png& operator=(const Png&) = delete;

    [[noreturn]] void fail() const
    {
        // "out of memory", or zlib's "insufficient memory": libpng has no other way to tell.
        if (std::strstr(image.message, "memory")) throw std::bad_alloc();
        throw Unreadable(std::string("damaged PNG: ") + image.message);
    }
    cv::Size size() const { return {static_cast<int>(image.width), static_cast<int>(image.height)}; }
};

std::uint32_t bigEndian32(Bytes at)
{
    return png_get_uint_32(at.data());
}

/// The eXIf chunk, which may stand behind the pixels; libpng would have to inflate them to get there.
/// Also makes sure that the file goes on to its end mark (PNG specification, section 5.3), and is no
/// animation (section 11.3, acTL), of which libpng would show the first picture.
Bytes exifChunk(Bytes file)
{
    constexpr size_t kSignature = 8, kAround = 12;  // length, type, CRC
    Bytes rest = file.subspan(kSignature);
    Bytes exif;
    while (rest.size() >= kAround) {
        const size_t length = bigEndian32(rest);
        if (length > rest.size() - kAround) break;
        const auto type = rest.subspan(4, 4);
        if (std::memcmp(type.data(), "acTL", 4) == 0) throw Animation();
        if (std::memcmp(type.data(), "eXIf", 4) == 0) exif = rest.subspan(8, length);
        if (std::memcmp(type.data(), "IEND", 4) == 0) return exif;
        rest = rest.subspan(length + kAround);
    }
    throw Unreadable("damaged PNG: it ends too early");
}

}  // namespace

PictureHeader pngHeader(Bytes file)
{
    // Before libpng, which takes as much memory as a chunk says it needs, however short the file is.
    const Bytes block = exifChunk(file);
    const Png png(file);
    PictureHeader header;
    header.stored = png.size();
    if (!block.empty()) header.exif = readExif(block);
    return header;
}

cv::Mat decodePng(Bytes file)
{
    Png png(file);
    const bool has_alpha = (png.image.format & PNG_FORMAT_FLAG_ALPHA) != 0;
    png.image.format = has_alpha ? PNG_FORMAT_BGRA : PNG_FORMAT_BGR;
    cv::Mat pixels(png.size(), has_alpha ? CV_8UC4 : CV_8UC3);
    if (!png_image_finish_read(&png.image, nullptr, pixels.data, static_cast<png_int_32>(pixels.step),
                               nullptr))
        png.fail();
    return has_alpha ? overMidGrey(pixels) : pixels;
}

}  // namespace slipglass
