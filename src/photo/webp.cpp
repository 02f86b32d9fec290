#include <webp/decode.h>
#include <webp/demux.h>

#include <cstring>
#include <memory>
#include <new>
#include <stdexcept>

#include "formats.h"

namespace slipglass {

namespace {

struct DeleteDemuxer {
    void operator()(WebPDemuxer* demuxer) const { WebPDemuxDelete(demuxer); }
};
using Demuxer = std::unique_ptr<WebPDemuxer, DeleteDemuxer>;

Demuxer open(Bytes file)
{
    // Flags of the extended header (RIFF container specification), before anything else can be wrong with it.
    constexpr size_t kFlags = 20;
    const bool extended = file.size() > kFlags && std::memcmp(&file[12], "VP8X", 4) == 0;
    if (extended && (file[kFlags] & ANIMATION_FLAG)) throw Animation();
    const WebPData data{file.data(), file.size()};
    WebPDemuxState state = WEBP_DEMUX_PARSE_ERROR;
    Demuxer demuxer{WebPDemuxPartial(&data, &state)};
    // "Partial" only to tell the two apart, and to give the size of a picture whose pixels were cut off.
    if (state == WEBP_DEMUX_PARSING_HEADER) throw Unreadable("damaged WebP: it ends too early");
    if (!demuxer) throw Unreadable("damaged WebP");
    return demuxer;
}

Bytes exifChunk(const WebPDemuxer* demuxer)
{
    WebPChunkIterator chunk{};
    if (!WebPDemuxGetChunk(demuxer, "EXIF", 1, &chunk)) return {};
    const Bytes block{chunk.chunk.bytes, chunk.chunk.size};
    WebPDemuxReleaseChunkIterator(&chunk);  // the bytes are the caller's own
    return block;
}

cv::Size sizeOf(const WebPDemuxer* demuxer)
{
    return {static_cast<int>(WebPDemuxGetI(demuxer, WEBP_FF_CANVAS_WIDTH)),
            static_cast<int>(WebPDemuxGetI(demuxer, WEBP_FF_CANVAS_HEIGHT))};
}

}  // namespace

PictureHeader webpHeader(Bytes file)
{
    const Demuxer demuxer = open(file);
    PictureHeader header;
    header.stored = sizeOf(demuxer.get());
    if (const Bytes block = exifChunk(demuxer.get()); !block.empty()) header.exif = readExif(block);
    return header;
}

cv::Mat storedWebp(Bytes file)
{
    const Demuxer demuxer = open(file);
    const bool has_alpha = (WebPDemuxGetI(demuxer.get(), WEBP_FF_FORMAT_FLAGS) & ALPHA_FLAG) != 0;
    cv::Mat pixels(sizeOf(demuxer.get()), has_alpha ? CV_8UC4 : CV_8UC3);
    WebPDecoderConfig into;
    if (!WebPInitDecoderConfig(&into)) throw std::logic_error("another libwebp than was built with");
    into.output.colorspace = has_alpha ? MODE_BGRA : MODE_BGR;
    into.output.is_external_memory = 1;
    into.output.u.RGBA = {pixels.data, static_cast<int>(pixels.step), pixels.step * pixels.rows};
    const VP8StatusCode status = WebPDecode(file.data(), file.size(), &into);
    if (status == VP8_STATUS_OUT_OF_MEMORY) throw std::bad_alloc();
    if (status != VP8_STATUS_OK) throw Unreadable("damaged WebP: its pixels are incomplete");
    return pixels;
}

cv::Mat decodeWebp(Bytes file)
{
    const cv::Mat pixels = storedWebp(file);
    return pixels.channels() == 4 ? overMidGrey(pixels) : pixels;
}

}  // namespace slipglass
