#include <algorithm>
#include <cstring>
#include <vector>

#include <zlib.h>

#include "../../src/photo/exif.h"
#include "../../src/photo/file_name.h"
#include "as_file.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/list_photos.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass::fuzz {

namespace {

/// The way of a photo into a season: facts, day, pixels.
void asPhoto(Bytes bytes)
{
    mayRefuse([&] {
        const auto path = asFile(bytes, "T01_2026-01-12.jpg");
        const PhotoFacts facts = readFacts(path);
        require(facts.upright_size.width > 0 && facts.upright_size.height > 0, "a photo without pixels");
        require(facts.orientation >= 1 && facts.orientation <= 8, "an orientation that is none");
        mayRefuse([&] {
            PhotoFile file;
            file.path = path;
            file.name = "IMG_20260112_093010.jpg";
            takenAt(file, facts, kToday);
        });
        const Picture picture = readPicture(path, facts, 100);
        require(picture.full_size == facts.upright_size, "pixels of another size than the facts say");
        require(picture.bgr.type() == CV_8UC3, "pixels of another kind");
    });
}

std::uint32_t bigEndian(const std::uint8_t* at)
{
    return (std::uint32_t{at[0]} << 24) | (std::uint32_t{at[1]} << 16) | (std::uint32_t{at[2]} << 8) | at[3];
}

/// A PNG whose checksums are right, so that what was changed in it is read at all.
std::vector<std::uint8_t> withRightSums(Bytes file)
{
    constexpr size_t kSignature = 8, kHead = 8, kSum = 4;
    std::vector<std::uint8_t> png(file.begin(), file.end());
    for (size_t at = kSignature; at + kHead + kSum <= png.size();) {
        const size_t length = bigEndian(&png[at]);
        if (length > png.size() - at - kHead - kSum) break;
        const auto sum = static_cast<std::uint32_t>(crc32(0, &png[at + 4], static_cast<uInt>(length + 4)));
        std::uint8_t* to = &png[at + kHead + length];
        for (int i = 0; i < 4; ++i) to[i] = static_cast<std::uint8_t>(sum >> (24 - 8 * i));
        at += kHead + length + kSum;
    }
    return png;
}

}  // namespace

void jpeg(Bytes file)
{
    asPhoto(file);
}

void png(Bytes file)
{
    asPhoto(withRightSums(file));
}

void webp(Bytes file)
{
    asPhoto(file);
}

void tiff(Bytes file)
{
    asPhoto(file);
}

void heic(Bytes file)
{
    asPhoto(file);
}

void own_picture(Bytes file)
{
    pictureIn(textOf(withRightSums(file)));
}

void exif(Bytes block)
{
    const ExifFacts facts = readExif(block);
    require(facts.orientation >= 1 && facts.orientation <= 8, "an orientation that is none");
    require(!facts.focal_35mm || *facts.focal_35mm > 0, "a focal length of nothing");
}

void photo_name(Bytes name)
{
    constexpr size_t kLongest = 255;  // no file system has longer ones
    const std::string text(textOf(name.first(std::min(name.size(), kLongest))));
    for (const TakenAt& taken : readName(text).phone_dates) require(taken.date.ok(), "a day that is none");
    isMerelyDate(text);
    saysNoTub(text);
    const std::string safe = safeFileName(text);
    require(!safe.empty() && safe.size() <= 100 && safe != "." && safe != "..", "a file name that is none");
    require(safe.find_first_of("/\\:*?\"<>|") == std::string::npos, "a file name that is not safe");
}

}  // namespace slipglass::fuzz
