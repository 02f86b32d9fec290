#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "cutting_parts.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

using Json = nlohmann::ordered_json;

const char* const kFolder = "report/cuttings";
// A brush for touching up: about a millimetre of wall, or this share of the photo's width.
constexpr double kBrushShare = 1.0 / 180;

Json pointsJson(const std::vector<PhotoPoint>& points)
{
    Json list = Json::array();
    for (const PhotoPoint& p : points) {
        const auto tenth = [](double px) { return std::round(px * 10) / 10; };
        list.push_back({tenth(p.x_px), tenth(p.y_px)});
    }
    return list;
}

/// What was drawn on it earlier; null where nothing was.
Json drawnJson(const Observation& seen, const SeasonReport& season)
{
    const auto drawn = season.drawn.find({seen.photo, seen.tub});
    return drawn == season.drawn.end() ? Json(nullptr) : Json::parse(drawn->second);
}

Json photoJson(const Shown& shown, const SeasonReport& season, const Words& words)
{
    const SeasonSettings& settings = season.settings;
    const Observation& seen = shown.point->seen;
    const PhotoPictures& pictures = *shown.pictures;
    const double brush = seen.px_per_mm ? *seen.px_per_mm : pictures.width * kBrushShare;
    return {{"name", seen.photo},
            {"tub", seen.tub},
            {"stem", pictures.stem},
            {"heading", words.day(seen.taken.date)},
            {"caption", captionOf(*shown.point, settings, words)},
            {"alt", pictureWords(seen, settings, words)},
            {"px", {pictures.width, pictures.height}},
            {"brush", std::round(std::max(1.0, brush) * 10) / 10},
            {"photo", addressOf(pictures.photo, kFolder)},
            {"found", addressOf(pictures.found, kFolder)},
            {"wall", pictures.wall.empty() ? Json(nullptr) : Json(addressOf(pictures.wall, kFolder))},
            {"outline", pointsJson(seen.outline)},
            {"water_line", pointsJson(seen.water_line)},
            {"drawn", drawnJson(seen, season)},
            {"figures",
             {{words("roots cover"), coverageWords(seen, settings, words)},
              {words("length"), lengthWords(seen, settings, words)},
              {words("water"), waterWords(seen, words)}}}};
}

bool anyRoots(const std::vector<GrowthColour>& dates)
{
    return std::any_of(dates.begin(), dates.end(), [](const GrowthColour& date) { return date.roots_seen; });
}

/// "224 mm² new", "none seen"; "" when not known.
std::string newRootWords(const GrowthColour& colour, const Words& words)
{
    if (!colour.roots_seen) return words("none seen");
    if (!colour.first_seen_mm2) return "";
    return words("{area} new", {{"area", words.area(*colour.first_seen_mm2)}});
}

PageData growthData(const std::string& tub, const PicturesThere& there, const Words& words)
{
    const auto colours = growthColours(tub, there, words);
    if (colours.empty()) return PageData{false};
    PageData dates = emptyList();
    for (const PageData& colour : colours) dates.push_back(colour);
    const std::string map = growthMapName(there.files.at(tub)),
                      legend = growthLegendName(there.files.at(tub));
    PageData growth;
    growth.set("src", addressOf(map, kFolder));
    growth.set("alt",
               words("Growth map: the roots on the unrolled wall, lighter the later they were first seen"));
    growth.set("name", validUtf8(map));
    growth.set("legend", addressOf(legend, kFolder));
    growth.set("legend_name", validUtf8(legend));
    growth.set("dates", dates);
    return growth;
}

}  // namespace

std::string captionOf(const SeriesPoint& point, const SeasonSettings& settings, const Words& words)
{
    const Observation& seen = point.seen;
    const std::string age = point.days_since_stuck
                                ? words("day {day}", {{"day", std::to_string(*point.days_since_stuck)}})
                                : std::string();
    const std::string notes = keptWords(seen.notes, words);
    if (seen.state == State::retake)
        return joined({age, words("could not be measured: {notes}", {{"notes", notes}})}, ". ");
    std::string text =
        joined({age,
                rootsSeen(seen, settings) == false
                    ? words("no roots seen")
                    : words("roots cover {coverage}", {{"coverage", coverageWords(seen, settings, words)}}),
                seen.root_length_mm && rootsSeen(seen, settings) != false
                    ? words("length {length}", {{"length", lengthWords(seen, settings, words)}})
                    : "",
                words("water {water}", {{"water", waterWords(seen, words)}}),
                words("medium {wetness}", {{"wetness", wetnessWord(seen, words)}})},
               ", ");
    if (seen.state == State::caution) text += ". " + words("With caution: {notes}", {{"notes", notes}});
    return text + ".";
}

std::vector<PageData> growthColours(const std::string& tub, const PicturesThere& there, const Words& words)
{
    std::vector<PageData> dates;
    const auto found = there.growth.find(tub);
    if (found == there.growth.end() || !anyRoots(found->second)) return dates;
    for (const GrowthColour& colour : found->second) {
        PageData date;
        const auto day = parseIsoDate(colour.date);
        date.set("colour", colour.roots_seen ? PageData{validUtf8(colour.colour)} : PageData{false});
        date.set("iso", validUtf8(colour.date));
        date.set("day", day ? words.day(*day) : validUtf8(colour.date));
        const std::string area = newRootWords(colour, words);
        date.set("area", area.empty() ? PageData{false} : PageData{area});
        dates.push_back(date);
    }
    return dates;
}

std::vector<Shown> shownOf(const Series& series, const PicturesThere& there)
{
    std::vector<Shown> shown;
    for (const auto& point : series.points) {
        const PhotoPictures& pictures = picturesOf(point, there);
        if (!pictures.photo.empty() && !pictures.found.empty() && pictures.width > 0)
            shown.push_back({&point, &pictures});
    }
    return shown;
}

std::string scriptData(const Series& series, const std::vector<Shown>& shown, const Graph& graph,
                       const SeasonReport& season, const Words& words)
{
    Json data = Json::object();
    data["file"] = season.files.at(series.cutting.cutting);
    data["photos"] = Json::array();
    for (const Shown& photo : shown) data["photos"].push_back(photoJson(photo, season, words));
    data["graph"] = Json::array();
    for (const GraphDay& day : graph.days) {
        Json places = Json::array();
        for (const auto& [x, y] : day.places) places.push_back({std::round(x), std::round(y)});
        data["graph"].push_back(
            {{"x", std::round(day.x)}, {"heading", day.heading}, {"lines", day.lines}, {"places", places}});
    }
    std::string text = data.dump(-1, ' ', false, Json::error_handler_t::replace);
    for (size_t at = text.find('<'); at != std::string::npos; at = text.find('<', at))
        text.replace(at, 1, "\\u003c");
    return text;
}

PageData viewerData(const std::vector<Shown>& shown, const PicturesThere& there,
                    const SeasonSettings& settings, const Words& words)
{
    if (shown.empty()) return PageData{false};
    const Shown& latest = shown.back();
    const Observation& seen = latest.point->seen;
    PageData picture;
    picture.set("last", std::to_string(shown.size() - 1));
    picture.set("heading", words.day(seen.taken.date));
    picture.set("caption", validUtf8(captionOf(*latest.point, settings, words)));
    picture.set("photo", addressOf(latest.pictures->photo, kFolder));
    picture.set("found", addressOf(latest.pictures->found, kFolder));
    picture.set("alt", validUtf8(pictureWords(seen, settings, words)));
    picture.set("width", std::to_string(latest.pictures->width));
    picture.set("height", std::to_string(latest.pictures->height));
    PageData strip = emptyList();
    for (const Shown& photo : shown) {
        PageData item;
        const std::string& big =
            photo.pictures->overlay.empty() ? photo.pictures->photo : photo.pictures->overlay;
        item.set("overlay", addressOf(big, kFolder));
        item.set("small", addressOf(photo.pictures->small.empty() ? big : photo.pictures->small, kFolder));
        item.set("iso", isoDate(photo.point->seen.taken.date));
        item.set("day", words.shortDay(photo.point->seen.taken.date));
        item.set("current", PageData{&photo == &latest});
        strip.push_back(item);
    }
    picture.set("strip", strip);
    PageData wall{false}, growth = growthData(seen.tub, there, words);
    const auto with_wall = std::find_if(shown.rbegin(), shown.rend(),
                                        [](const Shown& photo) { return !photo.pictures->wall.empty(); });
    if (with_wall != shown.rend()) {
        wall = PageData{};
        wall.set("src", addressOf(with_wall->pictures->wall, kFolder));
        wall.set("alt", words("The unrolled wall on {date}", {{"date", with_wall->point->seen.taken.date}}));
        wall.set("growth", growth);
    }
    picture.set("wall", wall);
    picture.set("growth", growth);
    const auto map = there.growth.find(seen.tub);
    picture.set("no_growth", PageData{map != there.growth.end() && !anyRoots(map->second)});
    return picture;
}

}  // namespace slipglass
