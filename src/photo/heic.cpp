// HEIC and HEIF. Which way up: the file's own 'irot' and 'imir' properties, which libheif applies while
// decoding, and nothing else. The EXIF Orientation is not applied, whether or not those properties are there:
// in HEIF the EXIF block is metadata that describes, and the properties are what a reader has to follow
// (ISO/IEC 23008-12, 6.5.10 'irot' and 6.5.12 'imir', and its annex on EXIF metadata; from memory). Phones
// write both, so obeying both would turn the photo twice. libheif's own converter takes the same way
// (tests/data/photo/README.md shows what it gives).
#include <fcntl.h>
#include <libheif/heif.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <memory>
#include <mutex>
#include <new>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "formats.h"

namespace slipglass {

namespace {

void require(const heif_error& error)
{
    // A limit of its own counts as memory too.
    if (error.code == heif_error_Memory_allocation_error &&
        error.subcode != heif_suberror_Security_limit_exceeded)
        throw std::bad_alloc();
    if (error.code != heif_error_Ok) throw Unreadable(std::string("damaged HEIC: ") + error.message);
}

/// The file and its main picture. `file` must outlive it.
class Heic {
public:
    explicit Heic(Bytes file) : context_(heif_context_alloc(), heif_context_free)
    {
        heif_context_set_max_decoding_threads(context_.get(), 0);  // photos are measured side by side already
        require(
            heif_context_read_from_memory_without_copy(context_.get(), file.data(), file.size(), nullptr));
        heif_image_handle* handle = nullptr;
        require(heif_context_get_primary_image_handle(context_.get(), &handle));
        handle_.reset(handle);
    }
    heif_image_handle* get() const { return handle_.get(); }

private:
    std::unique_ptr<heif_context, void (*)(heif_context*)> context_;
    std::unique_ptr<heif_image_handle, void (*)(const heif_image_handle*)> handle_{nullptr,
                                                                                   heif_image_handle_release};
};

/// Empty when there is none. The first four bytes say how far behind them the TIFF header starts.
std::vector<std::uint8_t> exifBlock(const heif_image_handle* handle)
{
    heif_item_id id = 0;
    if (heif_image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) < 1) return {};
    std::vector<std::uint8_t> block(heif_image_handle_get_metadata_size(handle, id));
    if (block.size() < 4 || heif_image_handle_get_metadata(handle, id, block.data()).code != heif_error_Ok)
        return {};
    const std::uint64_t skip =
        4 + ((std::uint64_t{block[0]} << 24) | (block[1] << 16) | (block[2] << 8) | block[3]);
    if (skip >= block.size()) return {};
    block.erase(block.begin(), block.begin() + static_cast<std::ptrdiff_t>(skip));
    return block;
}

cv::Size sizeOf(const heif_image_handle* handle)
{
    return {heif_image_handle_get_width(handle), heif_image_handle_get_height(handle)};
}

using Image = std::unique_ptr<heif_image, void (*)(const heif_image*)>;

/// While one lives, stderr leads nowhere: libde265 writes there what it finds wrong in a picture, without its
/// name, and cannot be told not to. Between its first photo and its last, a run itself says there but how far
/// it is.
class Unheard {
public:
    Unheard()
    {
        const std::lock_guard lock(mutex());
        if (count()++ > 0) return;
        kept() = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
        const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
        if (kept() >= 0 && nowhere >= 0) dup2(nowhere, STDERR_FILENO);
        if (nowhere >= 0) close(nowhere);
    }
    ~Unheard()
    {
        const std::lock_guard lock(mutex());
        if (--count() > 0 || kept() < 0) return;
        dup2(kept(), STDERR_FILENO);
        close(kept());
    }
    Unheard(const Unheard&) = delete;
    Unheard& operator=(const Unheard&) = delete;

private:
    // Of all threads together: there is one stderr.
    static std::mutex& mutex()
    {
        static std::mutex one;
        return one;
    }
    static int& count()
    {
        static int living = 0;
        return living;
    }
    static int& kept()
    {
        static int descriptor = -1;
        return descriptor;
    }
};

Image decode(const Heic& heic, heif_chroma chroma)
{
    const Unheard unheard;
    const std::unique_ptr<heif_decoding_options, void (*)(heif_decoding_options*)> options{
        heif_decoding_options_alloc(), heif_decoding_options_free};
    options->convert_hdr_to_8bit = 1;
    options->strict_decoding = 1;
    heif_image* image = nullptr;
    require(heif_decode_image(heic.get(), &image, heif_colorspace_RGB, chroma, options.get()));
    return {image, heif_image_release};
}

bool isSequence(Bytes file)
{
    // ISO/IEC 23008-12, 10.3, and AV1's own; from memory.
    constexpr std::array kBrands{"msf1", "hevc", "hevx", "hevm", "hevs", "avis"};
    return file.size() >= 12 && std::memcmp(&file[4], "ftyp", 4) == 0 &&
           std::any_of(kBrands.begin(), kBrands.end(),
                       [&](const char* brand) { return std::memcmp(&file[8], brand, 4) == 0; });
}

}  // namespace

bool isHeic(Bytes file)
{
    if (file.size() < 12) return false;  // libheif would say "maybe"
    const auto kind = heif_check_filetype(file.data(), static_cast<int>(std::min<size_t>(file.size(), 64)));
    return kind == heif_filetype_yes_supported || kind == heif_filetype_maybe || isSequence(file);
}

PictureHeader heicHeader(Bytes file)
{
    if (isSequence(file)) throw Animation();
    const Heic heic(file);
    PictureHeader header;
    header.stored = sizeOf(heic.get());
    if (const auto block = exifBlock(heic.get()); !block.empty()) header.exif = readExif(block);
    header.exif.orientation = 1;
    return header;
}

cv::Mat decodeHeic(Bytes file)
{
    const Heic heic(file);
    const bool has_alpha = heif_image_handle_has_alpha_channel(heic.get()) != 0;
    const Image image = decode(heic, has_alpha ? heif_chroma_interleaved_RGBA : heif_chroma_interleaved_RGB);
    heif_error warning{};
    if (heif_image_get_decoding_warnings(image.get(), 0, &warning, 1) > 0) require(warning);
    int stride = 0;
    const std::uint8_t* plane = heif_image_get_plane_readonly(image.get(), heif_channel_interleaved, &stride);
    if (!plane) throw Unreadable("damaged HEIC: no pixels");
    const cv::Mat pixels(heif_image_get_height(image.get(), heif_channel_interleaved),
                         heif_image_get_width(image.get(), heif_channel_interleaved),
                         has_alpha ? CV_8UC4 : CV_8UC3, const_cast<std::uint8_t*>(plane),
                         static_cast<size_t>(stride));
    cv::Mat bgr;
    cv::cvtColor(pixels, bgr, has_alpha ? cv::COLOR_RGBA2BGRA : cv::COLOR_RGB2BGR);
    return has_alpha ? overMidGrey(bgr) : bgr;
}

}  // namespace slipglass
