#include "slipglass/photo/read_photo.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "formats.h"
#include "photo_date.h"
#include "slipglass/error.h"
#include "slipglass/no_memory.h"
#include "slipglass/read_file.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;

const char* const kCopyAgain = "Copy it from the phone again, or take the photo again";
const char* const kGivePicture = "Give a JPEG, PNG, TIFF, WebP or HEIC picture";

enum class Format { jpeg, png, tiff, webp, heic };

bool startsWith(Bytes file, std::initializer_list<std::uint8_t> bytes)
{
    return file.size() >= bytes.size() && std::equal(bytes.begin(), bytes.end(), file.begin());
}

/// By the first bytes: names lie.
std::optional<Format> formatOf(Bytes file)
{
    if (startsWith(file, {0xff, 0xd8, 0xff})) return Format::jpeg;
    if (startsWith(file, {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'})) return Format::png;
    if (startsWith(file, {'I', 'I', 42, 0}) || startsWith(file, {'M', 'M', 0, 42})) return Format::tiff;
    if (startsWith(file, {'I', 'I', 43, 0}) || startsWith(file, {'M', 'M', 0, 43})) return Format::tiff;
    if (startsWith(file, {'R', 'I', 'F', 'F'}) && file.size() >= 12 && std::memcmp(&file[8], "WEBP", 4) == 0)
        return Format::webp;
    if (isHeic(file)) return Format::heic;
    return std::nullopt;
}

Format requireFormat(Bytes file, const fs::path& path)
{
    if (file.empty()) throw Error(path.string(), "is empty (0 bytes)", kCopyAgain);
    const bool gif = startsWith(file, {'G', 'I', 'F', '8'});
    if (gif)
        throw Error(path.string(), "is a GIF, as animations and drawings are, not a photo", kGivePicture);
    const auto format = formatOf(file);
    if (!format) throw Error(path.string(), "is not a picture of a kind that can be read", kGivePicture);
    return *format;
}

PictureHeader headerOf(Format format, Bytes file, const fs::path& path)
{
    switch (format) {
        case Format::jpeg:
            return jpegHeader(file);
        case Format::png:
            return pngHeader(file);
        case Format::tiff:
            return tiffHeader(path);
        case Format::webp:
            return webpHeader(file);
        case Format::heic:
            return heicHeader(file);
    }
    throw std::logic_error("headerOf: unknown format");
}

/// The pixels as stored; only JPEG heeds `reduction`.
cv::Mat decode(Format format, Bytes file, const fs::path& path, int reduction)
{
    switch (format) {
        case Format::jpeg:
            return decodeJpeg(file, reduction);
        case Format::png:
            return decodePng(file);
        case Format::tiff:
            return decodeTiff(path);
        case Format::webp:
            return decodeWebp(file);
        case Format::heic:
            return decodeHeic(file);
    }
    throw std::logic_error("decode: unknown format");
}

/// Libraries end their messages as they like; ours go on behind them on the same line.
std::string onOneLine(std::string text)
{
    std::replace(text.begin(), text.end(), '\n', ' ');
    text.erase(text.find_last_not_of(" .") + 1);
    return text;
}

/// A file on the disk; what its readers find wrong becomes an Error with its name.
struct OpenFile {
    fs::path path;
    std::string contents;
    Bytes bytes;
    Format format;

    OpenFile(const fs::path& p, std::uintmax_t most)
        : path(p),
          contents(readFile(p, most)),
          bytes(reinterpret_cast<const std::uint8_t*>(contents.data()), contents.size()),
          format(requireFormat(bytes, p))
    {
    }
    OpenFile(const OpenFile&) = delete;
    OpenFile& operator=(const OpenFile&) = delete;

    template <class Read>
    auto reading(const Read& read) const
    {
        try {
            return read();
        } catch (const Animation& e) {
            throw Error(path.string(), e.what(), kGivePicture);
        } catch (const Unreadable& e) {
            throw Error(path.string(), onOneLine(e.what()), kCopyAgain);
        } catch (const std::bad_alloc&) {
            throw Error(path.string(), kNoMemoryForIt, kNeedLessMemory);
        }
    }
    PictureHeader header() const
    {
        return reading([&] { return headerOf(format, bytes, path); });
    }
    cv::Mat pixels(int reduction) const
    {
        return reading([&] { return decode(format, bytes, path, reduction); });
    }
};

/// Orientations 5 to 8 lie on their side.
cv::Size uprightSize(cv::Size stored, int orientation)
{
    return orientation >= 5 ? cv::Size{stored.height, stored.width} : stored;
}

void requireSize(cv::Size size, const PhotoLimits& limits, const fs::path& path)
{
    if (size.width <= 0 || size.height <= 0) throw Error(path.string(), "has no pixels", kCopyAgain);
    const auto require = [&](bool within, const std::string& most, const char* setting) {
        if (within) return;
        throw Error(
            path.string(),
            "is " + std::to_string(size.width) + " x " + std::to_string(size.height) + " pixels, more than " +
                most,
            std::string("Save it smaller, or allow more with photos.") + setting + " in settings.json");
    };
    require(static_cast<double>(size.width) * size.height <= limits.most_megapixels * 1e6,
            exactText(limits.most_megapixels) + " megapixels", "most_megapixels");
    require(std::max(size.width, size.height) <= limits.most_side_px,
            std::to_string(limits.most_side_px) + " in a row or column", "most_side_px");
}

void setDate(const std::optional<std::string>& exif_date, PhotoFacts& facts)
{
    if (!exif_date || isUnknownExifDateTime(*exif_date)) return;
    const auto taken = parseExifDateTime(*exif_date);
    const std::string why = taken ? whyImpossible(*taken, std::nullopt) : "which is no date";
    if (why.empty()) {
        facts.exif_taken = taken;
    } else {
        facts.why_no_date = "its EXIF date is \"" + *exif_date + "\", " + why;
    }
}

/// EXIF 2.3 and TIFF 6, tag 0x0112: which visual side the stored row 0 and column 0 are.
cv::Mat turnedUpright(const cv::Mat& stored, int orientation)
{
    cv::Mat upright;
    if (orientation >= 5) {
        cv::transpose(stored, upright);
    } else {
        upright = stored;
    }
    switch (orientation) {
        case 2:
        case 6:
            cv::flip(upright, upright, 1);
            break;
        case 3:
        case 7:
            cv::flip(upright, upright, -1);
            break;
        case 4:
        case 8:
            cv::flip(upright, upright, 0);
            break;
        default:
            break;
    }
    return upright;
}

int dividedUp(int length, int by)
{
    return (length + by - 1) / by;
}

int largestReduction(cv::Size size, int long_side_px)
{
    for (const int reduction : {8, 4, 2}) {
        if (dividedUp(std::max(size.width, size.height), reduction) >= long_side_px) return reduction;
    }
    return 1;
}

/// A side that `reduction` does not divide leaves a narrower last pixel. Turned, it would come first and
/// shift the whole picture, so then the reduction has to wait until the picture is upright.
bool canReduceBeforeTurning(cv::Size size, int orientation, int reduction)
{
    const bool nothing_reversed = orientation == 1 || orientation == 5;
    return nothing_reversed || (size.width % reduction == 0 && size.height % reduction == 0);
}

/// Means of squares of `reduction` pixels; the last row and column are repeated where they do not fill one.
cv::Mat reduced(const cv::Mat& full, int reduction)
{
    if (reduction == 1) return full;
    const cv::Size size{dividedUp(full.cols, reduction), dividedUp(full.rows, reduction)};
    cv::Mat whole = full;
    if (size.width * reduction != full.cols || size.height * reduction != full.rows) {
        cv::copyMakeBorder(full, whole, 0, size.height * reduction - full.rows, 0,
                           size.width * reduction - full.cols, cv::BORDER_REPLICATE);
    }
    cv::Mat small;
    cv::resize(whole, small, size, 0, 0, cv::INTER_AREA);
    return small;
}

}  // namespace

cv::Mat overMidGrey(const cv::Mat& bgra)
{
    cv::Mat bgr(bgra.size(), CV_8UC3);
    for (int y = 0; y < bgra.rows; ++y) {
        const auto* from = bgra.ptr<cv::Vec4b>(y);
        auto* to = bgr.ptr<cv::Vec3b>(y);
        for (int x = 0; x < bgra.cols; ++x) {
            const int alpha = from[x][3];
            for (int c = 0; c < 3; ++c)
                to[x][c] = static_cast<uchar>((from[x][c] * alpha + 128 * (255 - alpha) + 127) / 255);
        }
    }
    return bgr;
}

std::uintmax_t mostBytes(const PhotoLimits& limits)
{
    constexpr double kPixel = 4 * 2, kFilm = 32e6;
    return static_cast<std::uintmax_t>(limits.most_megapixels * 1e6 * kPixel + kFilm);
}

PhotoFacts readFacts(const fs::path& path, const PhotoLimits& limits)
{
    const OpenFile file(path, mostBytes(limits));
    const PictureHeader header = file.header();
    requireSize(header.stored, limits, path);
    PhotoFacts facts;
    facts.bytes = file.bytes.size();
    facts.orientation = header.exif.orientation;
    facts.upright_size = uprightSize(header.stored, facts.orientation);
    facts.focal_35mm = header.exif.focal_35mm;
    setDate(header.exif.date_time_original, facts);
    return facts;
}

Picture readPicture(const fs::path& path, const PhotoFacts& facts, int long_side_px)
{
    if (long_side_px < 1) throw std::invalid_argument("readPicture: long_side_px must be at least 1");
    const OpenFile file(path, facts.bytes);
    if (uprightSize(file.header().stored, facts.orientation) != facts.upright_size)
        throw Error(path.string(), "was changed while it was read", "Run again");

    const int reduction = largestReduction(facts.upright_size, long_side_px);
    const bool decoder_reduces = file.format == Format::jpeg &&
                                 canReduceBeforeTurning(facts.upright_size, facts.orientation, reduction);
    const cv::Mat stored = file.pixels(decoder_reduces ? reduction : 1);
    Picture picture;
    picture.bgr = turnedUpright(stored, facts.orientation);
    if (!decoder_reduces) picture.bgr = reduced(picture.bgr, reduction);
    picture.full_size = facts.upright_size;
    picture.reduction = reduction;
    const cv::Size promised{dividedUp(facts.upright_size.width, reduction),
                            dividedUp(facts.upright_size.height, reduction)};
    if (picture.bgr.size() != promised)
        throw Error(path.string(), "its pixels are not the size it says", kCopyAgain);
    return picture;
}

}  // namespace slipglass
