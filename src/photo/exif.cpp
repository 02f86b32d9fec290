#include "exif.h"

#include <libexif/exif-data.h>
#include <libexif/exif-mem.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <memory>
#include <new>
#include <vector>

namespace slipglass {

namespace {

constexpr std::array<std::uint8_t, 6> kHead{'E', 'x', 'i', 'f', 0, 0};

struct Unref {
    void operator()(ExifData* data) const { exif_data_unref(data); }
};
using Data = std::unique_ptr<ExifData, Unref>;

// libexif's memory: without it, it leaves out a field, and says nothing.
thread_local bool no_memory = false;

void* noted(void* memory)
{
    if (!memory) no_memory = true;
    return memory;
}
void* newMemory(ExifLong bytes)
{
    return noted(std::calloc(1, bytes));
}
void* moreMemory(void* memory, ExifLong bytes)
{
    return noted(std::realloc(memory, bytes));
}

Data newData()
{
    no_memory = false;
    const std::unique_ptr<ExifMem, void (*)(ExifMem*)> memory{exif_mem_new(newMemory, moreMemory, std::free),
                                                              exif_mem_unref};
    return Data{memory ? exif_data_new_mem(memory.get()) : nullptr};
}

Data parse(std::span<const std::uint8_t> block)
{
    std::vector<std::uint8_t> with_head(kHead.begin(), kHead.end());
    const bool has_head =
        block.size() >= kHead.size() && std::equal(kHead.begin(), kHead.end(), block.begin());
    if (has_head) block = block.subspan(kHead.size());
    with_head.insert(with_head.end(), block.begin(), block.end());

    Data data = newData();
    if (!data) throw std::bad_alloc();
    // Left on, libexif adds fields the file does not have.
    exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_load_data(data.get(), with_head.data(), static_cast<unsigned>(with_head.size()));
    if (no_memory) throw std::bad_alloc();
    return data;
}

std::optional<int> shortValue(ExifData* data, ExifIfd ifd, ExifTag tag)
{
    const ExifEntry* entry = exif_content_get_entry(data->ifd[ifd], tag);
    if (!entry || entry->format != EXIF_FORMAT_SHORT || entry->size < 2) return std::nullopt;
    return exif_get_short(entry->data, exif_data_get_byte_order(data));
}

std::optional<std::string> textValue(ExifData* data, ExifIfd ifd, ExifTag tag)
{
    const ExifEntry* entry = exif_content_get_entry(data->ifd[ifd], tag);
    if (!entry || entry->format != EXIF_FORMAT_ASCII || !entry->data) return std::nullopt;
    const std::string text(reinterpret_cast<const char*>(entry->data), entry->size);
    return text.substr(0, text.find('\0'));
}

}  // namespace

ExifFacts readExif(std::span<const std::uint8_t> block)
{
    const Data data = parse(block);
    ExifFacts facts;
    const int orientation = shortValue(data.get(), EXIF_IFD_0, EXIF_TAG_ORIENTATION).value_or(1);
    if (orientation >= 1 && orientation <= 8) facts.orientation = orientation;
    facts.date_time_original = textValue(data.get(), EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL);
    const int focal = shortValue(data.get(), EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM).value_or(0);
    if (focal > 0) facts.focal_35mm = focal;  // 0: "unknown" in the EXIF standard
    return facts;
}

}  // namespace slipglass
