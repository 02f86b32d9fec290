#include <tiffio.h>

#include <array>
#include <bit>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <memory>
#include <opencv2/imgproc.hpp>

#include "formats.h"

namespace slipglass {

namespace {

/// An open TIFF and the first damage libtiff told of.
class Tiff {
public:
    explicit Tiff(const std::filesystem::path& path)
    {
        const std::unique_ptr<TIFFOpenOptions, void (*)(TIFFOpenOptions*)> options{TIFFOpenOptionsAlloc(),
                                                                                   TIFFOpenOptionsFree};
        TIFFOpenOptionsSetErrorHandlerExtR(options.get(), onError, this);
        TIFFOpenOptionsSetWarningHandlerExtR(options.get(), onWarning, this);
        constexpr tmsize_t kMostAtOnce = 1'000'000'000;  // whatever the file says
        TIFFOpenOptionsSetMaxSingleMemAlloc(options.get(), kMostAtOnce);
        tiff_ = TIFFOpenExt(path.c_str(), "r", options.get());
        if (!tiff_) fail();
    }
    ~Tiff() { TIFFClose(tiff_); }
    Tiff(const Tiff&) = delete;
    Tiff& operator=(const Tiff&) = delete;

    operator TIFF*() const { return tiff_; }
    bool damaged() const { return !damage_.empty(); }
    [[noreturn]] void fail() const
    {
        throw Unreadable(damaged() ? "damaged TIFF: " + damage_ : "damaged TIFF");
    }

private:
    static int onError(TIFF*, void* self, const char* module, const char* format, va_list arguments)
    {
        auto& damage = static_cast<Tiff*>(self)->damage_;
        if (!damage.empty()) return 1;
        std::array<char, 256> text{};
        std::vsnprintf(text.data(), text.size(), format, arguments);
        // As in other kinds: a photo whose orientation is none is shown as it is stored.
        if (std::strstr(text.data(), "for \"Orientation\" tag")) return 1;
        // `module` is the function, or the file: that is said already.
        damage = text.data();
        (void)module;
        return 1;
    }
    static int onWarning(TIFF* tiff, void* self, const char* module, const char* format, va_list arguments)
    {
        // Missing data in a JPEG strip is only a warning to libtiff.
        if (module && std::strcmp(module, "JPEGLib") == 0) onError(tiff, self, module, format, arguments);
        return 1;
    }

    TIFF* tiff_ = nullptr;
    std::string damage_;
};

cv::Size sizeOf(const Tiff& tiff)
{
    std::uint32_t width = 0, height = 0;
    if (!TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width) || !TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height))
        tiff.fail();
    constexpr std::uint32_t kMax = 1U << 30;
    if (width == 0 || height == 0 || width > kMax || height > kMax)
        throw Unreadable("damaged TIFF: impossible size");
    return {static_cast<int>(width), static_cast<int>(height)};
}

int orientationOf(const Tiff& tiff)
{
    std::uint16_t orientation = 1;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_ORIENTATION, &orientation);
    return orientation >= 1 && orientation <= 8 ? orientation : 1;
}

/// Makes the EXIF directory the current one, so nothing else can be read afterwards.
void readExifDirectory(const Tiff& tiff, ExifFacts& facts)
{
    toff_t offset = 0;
    if (!TIFFGetField(tiff, TIFFTAG_EXIFIFD, &offset) || !TIFFReadEXIFDirectory(tiff, offset)) return;
    const char* date = nullptr;
    if (TIFFGetField(tiff, EXIFTAG_DATETIMEORIGINAL, &date) && date) facts.date_time_original = date;
    std::uint16_t focal = 0;
    if (TIFFGetField(tiff, EXIFTAG_FOCALLENGTHIN35MMFILM, &focal) && focal > 0) facts.focal_35mm = focal;
}

/// libtiff gives colours already multiplied by alpha.
cv::Mat overMidGreyPremultiplied(const cv::Mat& rgba)
{
    cv::Mat bgr, alpha, grey;
    cv::cvtColor(rgba, bgr, cv::COLOR_RGBA2BGR);
    cv::extractChannel(rgba, alpha, 3);
    cv::subtract(255, alpha, alpha);
    alpha.convertTo(alpha, CV_8U, 128.0 / 255);
    cv::cvtColor(alpha, grey, cv::COLOR_GRAY2BGR);
    return bgr + grey;
}

}  // namespace

PictureHeader tiffHeader(const std::filesystem::path& path)
{
    const Tiff tiff(path);
    PictureHeader header;
    header.stored = sizeOf(tiff);
    header.exif.orientation = orientationOf(tiff);
    readExifDirectory(tiff, header.exif);
    return header;
}

cv::Mat decodeTiff(const std::filesystem::path& path)
{
    static_assert(std::endian::native == std::endian::little,
                  "libtiff packs RGBA into the machine's own words");
    const Tiff tiff(path);
    std::uint16_t colours = 1;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &colours);
    // libtiff makes room for all of them, of which it shows four: a few bytes can ask for gigabytes.
    if (colours > 8) throw Unreadable("damaged TIFF: it has " + std::to_string(colours) + " colours a pixel");
    cv::Mat rgba(sizeOf(tiff), CV_8UC4);
    // Asking for the file's own orientation leaves the pixels as stored; libtiff cannot turn by 90 degrees.
    const int read = TIFFReadRGBAImageOriented(
        tiff, static_cast<std::uint32_t>(rgba.cols), static_cast<std::uint32_t>(rgba.rows),
        rgba.ptr<std::uint32_t>(), orientationOf(tiff), /*stopOnError=*/1);
    if (!read || tiff.damaged()) tiff.fail();
    return overMidGreyPremultiplied(rgba);
}

}  // namespace slipglass
