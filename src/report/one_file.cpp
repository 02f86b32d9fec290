#include <map>

#include "cutting_parts.h"
#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "reduced_picture.h"
#include "season_parts.h"
#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

// Long sides, px: a cutting's latest photo; small ones.
constexpr int kPhotoSide = 800, kSmallSide = 240;

std::string placeOf(size_t nth)
{
    return std::string("cutting-").append(std::to_string(nth + 1));
}

/// Pages are places in the file, pictures are in it themselves.
ForPages inOneFile(const SeasonReport& season, const std::filesystem::path& out_dir)
{
    ForPages with = forPages(season, picturesIn(out_dir, season.observations));
    std::map<std::string, std::string> places;
    for (size_t i = 0; i < season.series.size(); ++i)
        places[cuttingPageName(season.files.at(season.series[i].cutting.cutting))] =
            std::string("#").append(placeOf(i));
    with.address = [places, out_dir](const std::string& name, const std::string&) {
        const auto page = places.find(name);
        return page != places.end() ? page->second : reducedPicture(out_dir / name, kSmallSide);
    };
    return with;
}

void addPictures(PageData& still, const Series& series, const SeasonReport& season, const ForPages& with,
                 const std::filesystem::path& out_dir)
{
    PageData picture{false}, growth{false}, earlier = emptyList();
    if (const SeriesPoint* latest = latestWith(series, with.pictures, &PhotoPictures::overlay)) {
        picture = PageData{};
        picture.set("src", reducedPicture(out_dir / picturesOf(*latest, with.pictures).overlay, kPhotoSide));
        picture.set("alt", validUtf8(pictureWords(latest->seen, season.settings, with.words)));
        picture.set("day", with.words.day(latest->seen.taken.date));
    }
    const auto colours = growthColours(series.cutting.tub, with.pictures, with.words);
    if (!colours.empty()) {
        PageData dates = emptyList();
        for (const PageData& colour : colours) dates.push_back(colour);
        growth = PageData{};
        growth.set("src", reducedPicture(out_dir / growthMapName(with.pictures.files.at(series.cutting.tub)),
                                         kPhotoSide));
        growth.set("dates", dates);
    }
    for (const SeriesPoint& point : series.points) {
        const std::string& small = picturesOf(point, with.pictures).small;
        if (small.empty()) continue;
        PageData item;
        item.set("src", reducedPicture(out_dir / small, kSmallSide));
        item.set("iso", isoDate(point.seen.taken.date));
        item.set("day", with.words.shortDay(point.seen.taken.date));
        earlier.push_back(item);
    }
    still.set("picture", picture);
    still.set("growth", growth);
    still.set("any_earlier", PageData{earlier.is_non_empty_list()});
    still.set("earlier", earlier);
}

}  // namespace

std::string oneFileHtml(const SeasonReport& season, const std::filesystem::path& out_dir)
{
    const ForPages with = inOneFile(season, out_dir);
    PageData page = seasonData(season, with);
    page.set("folder", PageData{false});
    PageData stills = emptyList();
    for (size_t i = 0; i < season.series.size(); ++i) {
        const Series& series = season.series[i];
        PageData still = cuttingData(season, i, with);
        still.set("place", placeOf(i));
        still.set("graph", inlineSvg(drawGraph(series, season.flags, season.settings, with.words).svg,
                                     placeOf(i).append("-")));
        addPictures(still, series, season, with, out_dir);
        stills.push_back(still);
    }
    page.set("stills", stills);
    return Skeleton(page_file::oneFile(), page_file::seasonScript(), with.words)
        .pageOf(page, with.words("Rooting season"));
}

}  // namespace slipglass
