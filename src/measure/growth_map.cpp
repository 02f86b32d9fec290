#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "overlay.h"
#include "page_pictures.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/read_file.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

// Dark, so that the darkest of ageColours stands out of it.
const cv::Scalar kWall(26, 24, 22, 255);
// Of the legend; a map with another one is drawn again.
constexpr int kSchema = 2;

struct DateSeen {
    std::string date;
    std::vector<std::string> photos;
    int pixels = 0;
    bool roots_seen = false;  ///< roots up to this date are more than what bare medium looks like
};

std::string hex(const cv::Vec3b& bgr)
{
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "#%02x%02x%02x", bgr[2], bgr[1], bgr[0]);
    return text.data();
}

std::vector<DateSeen> datesOf(const RootAges& ages)
{
    std::vector<DateSeen> dates;
    for (const RootAges::Photo& photo : ages.photos) {
        if (dates.empty() || dates.back().date != photo.date) dates.push_back({photo.date, {}});
        dates.back().photos.push_back(photo.name);
    }
    return dates;
}

/// The wall that figures rest on, as the first photo of a history sees it and the latest one: glare lies
/// elsewhere on it. All of it where none of them is kept. CV_8UC1.
cv::Mat wallSeen(const RootAges& ages, const std::string& tub, const SeasonStore& store)
{
    const cv::Size size = ages.first_seen.size();
    cv::Mat seen = cv::Mat::zeros(size, CV_8UC1);
    for (const KeptView& kept : store.views(tub)) {
        if (kept.photo != ages.photos.front().name && kept.photo != ages.photos.back().name) continue;
        const auto view = earlierView(kept, store);
        const auto panel = view ? view->panel() : std::nullopt;
        if (!panel) continue;
        cv::Mat map_x, map_y, moved;
        view->place.to_reference.mapsBack(size, map_x, map_y);
        cv::remap(panel->frontal, moved, map_x, map_y, cv::INTER_NEAREST, cv::BORDER_CONSTANT, 0);
        seen |= moved;
    }
    if (cv::countNonZero(seen) == 0) seen.setTo(255);
    return seen;
}

/// The date each pixel's root is told of, from 1; 0: none. What is first seen while roots are too little to
/// be told from bare medium is told of the date on which they are more, and not at all before there is one.
/// Counts the pixels of each date.
cv::Mat toldDates(const RootAges& ages, const cv::Mat& wall, const SeasonSettings& settings,
                  std::vector<DateSeen>& found)
{
    cv::Mat told(wall.size(), CV_16UC1, cv::Scalar(0));
    int so_far = 0;
    size_t photos = 0;
    for (size_t i = 0; i < found.size(); ++i) {
        DateSeen& date = found[i];
        photos += date.photos.size();
        const cv::Mat until = (ages.first_seen > 0) & (ages.first_seen <= static_cast<int>(photos)) & wall;
        const int pixels = cv::countNonZero(until);
        const double limit =
            photos == 1 ? settings.detection_limit_alone_percent : settings.detection_limit_percent;
        if (100.0 * pixels / cv::countNonZero(wall) <= limit) continue;
        date.roots_seen = true;
        date.pixels = pixels - so_far;
        told.setTo(static_cast<double>(i + 1), until & (told == 0));
        so_far = pixels;
    }
    return told;
}

/// The whole scale for the dates that roots are told of; the others have none.
std::vector<cv::Vec3b> coloursOf(const std::vector<DateSeen>& found)
{
    const auto seen =
        std::count_if(found.begin(), found.end(), [](const auto& date) { return date.roots_seen; });
    const std::vector<cv::Vec3b> scale = ageColours(static_cast<size_t>(seen));
    std::vector<cv::Vec3b> colours(found.size());
    size_t next = 0;
    for (size_t i = 0; i < found.size(); ++i)
        if (found[i].roots_seen) colours[i] = scale[next++];
    return colours;
}

/// @param mm_per_px  empty where that is not known.
json legendOf(const std::string& tub, const std::vector<DateSeen>& found,
              const std::vector<cv::Vec3b>& colours, std::optional<double> mm_per_px)
{
    json dates = json::array();
    for (size_t i = 0; i < found.size(); ++i) {
        const DateSeen& date = found[i];
        json area = nullptr;
        if (mm_per_px) area = std::round(date.pixels * *mm_per_px * *mm_per_px * 10) / 10;
        dates.push_back({{"date", date.date},
                         {"photos", date.photos},
                         {"colour", date.roots_seen ? json(hex(colours[i])) : json(nullptr)},
                         {"roots_seen", date.roots_seen},
                         {"first_seen_px", date.pixels},
                         {"first_seen_mm2", area}});
    }
    return {{"schema", kSchema}, {"tub", tub}, {"dates", dates}};
}

}  // namespace

void writeGrowthMap(const std::filesystem::path& out, const std::string& tub, const std::string& file,
                    const RootAges& ages, const SeasonStore& store, const SeasonSettings& settings)
{
    std::vector<DateSeen> found = datesOf(ages);
    const cv::Mat wall = wallSeen(ages, tub, store), told = toldDates(ages, wall, settings, found);
    const std::vector<cv::Vec3b> colours = coloursOf(found);
    cv::Mat map(wall.size(), CV_8UC4, cv::Scalar(0, 0, 0, 0));
    map.setTo(kWall, wall);
    for (size_t i = 0; i < colours.size(); ++i)
        map.setTo(cv::Scalar(colours[i][0], colours[i][1], colours[i][2], 255),
                  told == static_cast<int>(i + 1));
    writeFile(out / growthMapName(file), pngBytes(map));
    const json legend = legendOf(tub, found, colours, ages.mmPerPx());
    writeFile(out / growthLegendName(file),
              legend.dump(1, ' ', false, json::error_handler_t::replace) + "\n");
}

bool growthMapThere(const std::filesystem::path& out, const std::string& file)
{
    try {
        const json legend = json::parse(readFile(out / growthLegendName(file)), nullptr, false);
        return fileThere(out / growthMapName(file)) && legend.is_object() && legend.contains("schema") &&
               legend["schema"] == kSchema;
    } catch (const Error&) {
        return false;
    }
}

}  // namespace slipglass
