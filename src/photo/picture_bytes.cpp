#include "slipglass/photo/picture_bytes.h"

// jpeglib.h names size_t and FILE, and includes neither.
#include <cstddef>
#include <cstdio>

#include <jpeglib.h>

#include <jerror.h>
#include <png.h>
#include <zlib.h>

#include <algorithm>
#include <csetjmp>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <new>
#include <stdexcept>
#include <vector>

#include "formats.h"
#include "slipglass/error.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/read_file.h"

namespace slipglass {

namespace {

/// Both libraries leave by longjmp: what runs between must create nothing that needs destroying.
struct JpegWriter {
    jpeg_compress_struct info{};
    jpeg_error_mgr errors{};
    std::jmp_buf gave_up{};
    unsigned char* bytes = nullptr;
    unsigned long size = 0;

    JpegWriter()
    {
        info.err = jpeg_std_error(&errors);
        errors.error_exit = [](j_common_ptr common) {
            std::longjmp(static_cast<JpegWriter*>(common->client_data)->gave_up, 1);
        };
        info.client_data = this;
    }
    ~JpegWriter()
    {
        jpeg_destroy_compress(&info);
        std::free(bytes);
    }
    JpegWriter(const JpegWriter&) = delete;
    JpegWriter& operator=(const JpegWriter&) = delete;

    /// False when libjpeg gave up.
    bool write(const cv::Mat& bgr, int quality)
    {
        if (setjmp(gave_up) != 0) {
            bytes = nullptr;  // libjpeg may have freed it for a larger one, and tells that at its end alone
            return false;
        }
        jpeg_create_compress(&info);
        jpeg_mem_dest(&info, &bytes, &size);
        info.image_width = static_cast<JDIMENSION>(bgr.cols);
        info.image_height = static_cast<JDIMENSION>(bgr.rows);
        info.input_components = 3;
        info.in_color_space = JCS_EXT_BGR;
        jpeg_set_defaults(&info);
        jpeg_set_quality(&info, quality, TRUE);
        jpeg_start_compress(&info, TRUE);
        while (info.next_scanline < info.image_height) {
            JSAMPROW row = const_cast<uchar*>(bgr.ptr(static_cast<int>(info.next_scanline)));
            jpeg_write_scanlines(&info, &row, 1);
        }
        jpeg_finish_compress(&info);
        return true;
    }
};

[[noreturn]] void leave(png_structp png, png_const_charp)
{
    png_longjmp(png, 1);
}
void ignore(png_structp, png_const_charp) {}

/// libpng's memory: it says of nothing that went wrong whether that was for want of it.
void* memoryFor(png_structp png, png_alloc_size_t bytes)
{
    void* const got = std::malloc(bytes);
    if (!got) *static_cast<bool*>(png_get_mem_ptr(png)) = true;
    return got;
}
void giveBack(png_structp, png_voidp memory)
{
    std::free(memory);
}

struct PngFormat {
    int depth, colours;
};

PngFormat formatOf(const cv::Mat& picture)
{
    switch (picture.type()) {
        case CV_8UC1:
            return {8, PNG_COLOR_TYPE_GRAY};
        case CV_16UC1:
            return {16, PNG_COLOR_TYPE_GRAY};
        case CV_8UC3:
            return {8, PNG_COLOR_TYPE_RGB};
        case CV_8UC4:
            return {8, PNG_COLOR_TYPE_RGB_ALPHA};
        default:
            throw std::invalid_argument("no PNG can hold such a picture");
    }
}

class PngWriter {
public:
    PngWriter()
        : png_(png_create_write_struct_2(PNG_LIBPNG_VER_STRING, nullptr, leave, ignore, &no_memory_,
                                         memoryFor, giveBack)),
          info_(png_create_info_struct(png_))
    {
        if (info_) return;
        png_destroy_write_struct(&png_, nullptr);
        throw std::bad_alloc();
    }
    ~PngWriter() { png_destroy_write_struct(&png_, &info_); }
    PngWriter(const PngWriter&) = delete;
    PngWriter& operator=(const PngWriter&) = delete;

    /// @param row  gives the bytes of the nth row.
    template <class Row>
    std::string write(cv::Size size, PngFormat format, int filters, int level, int strategy, const Row& row)
    {
        if (setjmp(png_jmpbuf(png_)) != 0) {
            if (no_memory_) throw std::bad_alloc();
            throw std::runtime_error("libpng could not write a picture");
        }
        png_set_write_fn(png_, &bytes_, append, nullptr);
        if (filters) png_set_filter(png_, PNG_FILTER_TYPE_BASE, filters);
        png_set_compression_level(png_, level);
        png_set_compression_strategy(png_, strategy);
        png_set_IHDR(png_, info_, static_cast<png_uint_32>(size.width), static_cast<png_uint_32>(size.height),
                     format.depth, format.colours, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                     PNG_FILTER_TYPE_DEFAULT);
        png_write_info(png_, info_);
        png_set_bgr(png_);
        if (format.depth == 16) png_set_swap(png_);
        for (int y = 0; y < size.height; ++y) png_write_row(png_, row(y));
        png_write_end(png_, info_);
        return std::move(bytes_);
    }

private:
    static void append(png_structp png, png_bytep data, png_size_t count)
    {
        static_cast<std::string*>(png_get_io_ptr(png))->append(reinterpret_cast<const char*>(data), count);
    }

    bool no_memory_ = false;
    png_structp png_;
    png_infop info_;
    std::string bytes_;
};

/// Whether a file can hold so many pixels: their memory is taken before the first is seen. Deflate packs no
/// more than 1032 bytes into one (zlib's technical details), a byte has 8 pixels of a mask; JPEG packs less.
bool canHold(std::string_view file, cv::Size size)
{
    constexpr double kMost = 1032 * 8;
    return static_cast<double>(size.width) * size.height <= kMost * static_cast<double>(file.size());
}

class PngReader {
public:
    explicit PngReader(std::string_view bytes)
        : png_(png_create_read_struct_2(PNG_LIBPNG_VER_STRING, nullptr, leave, ignore, &no_memory_, memoryFor,
                                        giveBack)),
          info_(png_create_info_struct(png_)),
          left_(bytes)
    {
        if (info_) return;
        png_destroy_read_struct(&png_, nullptr, nullptr);
        throw std::bad_alloc();
    }
    ~PngReader() { png_destroy_read_struct(&png_, &info_, nullptr); }
    PngReader(const PngReader&) = delete;
    PngReader& operator=(const PngReader&) = delete;

    cv::Mat read()
    {
        cv::Mat picture;
        if (header()) {
            picture.create(height_, width_, CV_MAKETYPE(depth_ == 16 ? CV_16U : CV_8U, channels_));
            if (!pixels(picture)) picture.release();
        }
        // A picture that could not be read now is not one that is damaged.
        if (no_memory_) throw std::bad_alloc();
        return picture;
    }

private:
    static void take(png_structp png, png_bytep to, png_size_t count)
    {
        auto& left = static_cast<PngReader*>(png_get_io_ptr(png))->left_;
        if (count > left.size()) leave(png, nullptr);
        std::memcpy(to, left.data(), count);
        left.remove_prefix(count);
    }

    bool header()
    {
        if (setjmp(png_jmpbuf(png_)) != 0) return false;
        png_set_read_fn(png_, this, take);
        png_read_info(png_, info_);
        png_set_expand(png_);  // palettes, and fewer bits than eight
        // Grey and alpha become four channels.
        if (png_get_color_type(png_, info_) == PNG_COLOR_TYPE_GRAY_ALPHA) png_set_gray_to_rgb(png_);
        png_set_bgr(png_);
        if (png_get_bit_depth(png_, info_) == 16) png_set_swap(png_);
        passes_ = png_set_interlace_handling(png_);
        png_read_update_info(png_, info_);
        width_ = static_cast<int>(png_get_image_width(png_, info_));
        height_ = static_cast<int>(png_get_image_height(png_, info_));
        depth_ = png_get_bit_depth(png_, info_);
        channels_ = png_get_channels(png_, info_);
        return true;
    }

    bool pixels(cv::Mat& picture)
    {
        if (setjmp(png_jmpbuf(png_)) != 0) return false;
        for (int pass = 0; pass < passes_; ++pass)
            for (int y = 0; y < picture.rows; ++y) png_read_row(png_, picture.ptr(y), nullptr);
        png_read_end(png_, nullptr);
        return true;
    }

    bool no_memory_ = false;
    png_structp png_;
    png_infop info_;
    std::string_view left_;
    int width_ = 0, height_ = 0, depth_ = 0, channels_ = 0, passes_ = 1;
};

/// Sets bits from one to another, the first of a byte its highest.
void setBits(std::vector<uchar>& bits, int from, int to)
{
    if (from >= to) return;
    const auto first = static_cast<size_t>(from / 8), last = static_cast<size_t>(to / 8);
    const int head = 0xff >> from % 8, tail = 0xff00 >> to % 8 & 0xff;
    if (first == last) {
        bits[first] = static_cast<uchar>(bits[first] | (head & tail));
        return;
    }
    bits[first] = static_cast<uchar>(bits[first] | head);
    std::fill(bits.begin() + static_cast<std::ptrdiff_t>(first) + 1,
              bits.begin() + static_cast<std::ptrdiff_t>(last), uchar{0xff});
    if (tail) bits[last] = static_cast<uchar>(bits[last] | tail);
}

/// The first pixel that is not 0; most of a mask is.
const uchar* firstSet(const uchar* px, const uchar* end)
{
    std::uint64_t eight = 0;
    while (px + sizeof eight <= end) {
        std::memcpy(&eight, px, sizeof eight);
        if (eight) break;
        px += sizeof eight;
    }
    return std::find_if(px, end, [](uchar value) { return value != 0; });
}

}  // namespace

std::string jpegBytes(const cv::Mat& bgr, int quality)
{
    if (bgr.type() != CV_8UC3) throw std::invalid_argument("a JPEG takes three channels of 8 bits");
    JpegWriter writer;
    if (!writer.write(bgr, quality)) {
        if (writer.errors.msg_code == JERR_OUT_OF_MEMORY) throw std::bad_alloc();
        throw std::runtime_error("libjpeg could not write a picture");
    }
    return {reinterpret_cast<const char*>(writer.bytes), writer.size};
}

std::string pngBytes(const cv::Mat& picture, PngPacking packing)
{
    const bool fast = packing == PngPacking::fast;
    return PngWriter().write(picture.size(), formatOf(picture), fast ? PNG_FILTER_SUB : PNG_NO_FILTERS,
                             fast ? Z_BEST_SPEED : Z_BEST_COMPRESSION, fast ? Z_RLE : Z_DEFAULT_STRATEGY,
                             [&](int y) { return picture.ptr(y); });
}

std::string maskBytes(const cv::Mat& mask, cv::Size size)
{
    if (mask.type() != CV_8UC1) throw std::invalid_argument("a mask has one channel of 8 bits");
    const auto nearest = [](int at, int here, int there) {  // as cv::resize
        return std::min(there - 1, cvFloor(at * (1 / (static_cast<double>(here) / there))));
    };
    // Where each column of the mask begins in the file.
    std::vector<int> begins(static_cast<size_t>(mask.cols) + 1, size.width);
    for (int x = size.width - 1; x >= 0; --x)
        begins[static_cast<size_t>(nearest(x, size.width, mask.cols))] = x;
    for (size_t c = begins.size() - 1; c-- > 0;) begins[c] = std::min(begins[c], begins[c + 1]);
    std::vector<uchar> bits((static_cast<size_t>(size.width) + 7) / 8);
    int packed = -1;
    return PngWriter().write(size, {1, PNG_COLOR_TYPE_GRAY}, 0, Z_BEST_SPEED, Z_RLE, [&](int y) {
        const int from = nearest(y, size.height, mask.rows);
        if (from == packed) return bits.data();
        packed = from;
        std::fill(bits.begin(), bits.end(), uchar{0});
        const uchar *row = mask.ptr(from), *end = row + mask.cols;
        for (const uchar* px = row; px != end;) {
            const uchar* first = firstSet(px, end);
            const auto* after =
                static_cast<const uchar*>(std::memchr(first, 0, static_cast<size_t>(end - first)));
            px = after ? after : end;
            setBits(bits, begins[static_cast<size_t>(first - row)], begins[static_cast<size_t>(px - row)]);
        }
        return bits.data();
    });
}

cv::Mat pictureIn(std::string_view bytes)
{
    const Bytes file{reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()};
    try {
        if (bytes.starts_with("\x89PNG\r\n\x1a\n") && canHold(bytes, pngHeader(file).stored))
            return PngReader(bytes).read();
        if (bytes.starts_with("\xff\xd8") && canHold(bytes, jpegHeader(file).stored))
            return decodeJpeg(file, 1);
        if (bytes.starts_with("RIFF") && canHold(bytes, webpHeader(file).stored)) return storedWebp(file);
    } catch (const Unreadable&) {  // as if there were none
    }
    return {};
}

cv::Mat pictureFrom(const std::filesystem::path& file)
{
    try {
        return pictureIn(readFile(file, mostBytes({})));
    } catch (const Error&) {
        return {};
    }
}

}  // namespace slipglass
