#include "slipglass/layout/page_pictures.h"

#include <nlohmann/json.hpp>

#include "slipglass/error.h"
#include "slipglass/read_file.h"

#include "../words/strict_json.h"

namespace slipglass {

namespace {

using nlohmann::json;

bool isFile(const std::filesystem::path& path)
{
    std::error_code ignored;
    return std::filesystem::is_regular_file(path, ignored);
}

/// Null when it cannot be read: then the page does without.
json jsonIn(const std::filesystem::path& path)
{
    try {
        return json::parse(readFile(path), nullptr, false);
    } catch (const Error&) {
        return {};
    }
}

void addFacts(PhotoPictures& pictures, const std::filesystem::path& path)
{
    const json facts = jsonIn(path);
    try {
        const json& size = facts.at("photo_px");
        const int width = intIn(size.at(0)), height = intIn(size.at(1));
        pictures.stem = facts.at("stem").get<std::string>();
        pictures.width = width;
        pictures.height = height;
    } catch (const json::exception&) {
        return;  // not written by slipglass
    }
}

std::vector<GrowthColour> coloursIn(const std::filesystem::path& path)
{
    std::vector<GrowthColour> colours;
    const json legend = jsonIn(path);
    try {
        for (const json& date : legend.at("dates")) {
            const bool seen = date.value("roots_seen", true);
            GrowthColour colour{date.at("date"), seen ? date.at("colour").get<std::string>() : "", seen, {}};
            if (date.at("first_seen_mm2").is_number()) colour.first_seen_mm2 = date.at("first_seen_mm2");
            colours.push_back(colour);
        }
    } catch (const json::exception&) {
        return {};
    }
    return colours;
}

}  // namespace

PicturesThere picturesIn(const std::filesystem::path& out_dir, const std::vector<Observation>& observations)
{
    PicturesThere there;
    for (const auto& [photo_and_tub, overlay] : overlayNames(observations)) {
        const PagePictureNames names = pagePictureNames(overlay);
        const auto ifThere = [&](const std::string& name) { return isFile(out_dir / name) ? name : ""; };
        PhotoPictures pictures;
        pictures.overlay = ifThere(overlay);
        pictures.photo = ifThere(names.photo);
        pictures.small = ifThere(names.small);
        pictures.found = ifThere(names.found);
        pictures.wall = ifThere(names.wall);
        addFacts(pictures, out_dir / names.facts);
        there.photos[photo_and_tub] = pictures;
        there.files[photo_and_tub.second] = tubIn(overlay);
    }
    for (const auto& [tub, file] : there.files) {
        if (!isFile(out_dir / growthMapName(file))) continue;
        const auto colours = coloursIn(out_dir / growthLegendName(file));
        if (!colours.empty()) there.growth[tub] = colours;
    }
    return there;
}

}  // namespace slipglass
