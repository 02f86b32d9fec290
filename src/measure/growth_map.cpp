#include <array>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "overlay.h"
#include "page_pictures.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

// The wall is dark and what is no wall a little lighter, so that roots stand out of both.
const cv::Scalar kWall(26, 24, 22), kNoWall(58, 54, 50);

struct DateSeen {
    std::string date;
    std::vector<std::string> photos;
    int pixels = 0;
};

std::string hex(const cv::Vec3b& bgr)
{
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "#%02x%02x%02x", bgr[2], bgr[1], bgr[0]);
    return text.data();
}

/// The dates of a history, and for each of its photos which date it is of.
struct Dates {
    std::vector<DateSeen> dates;
    std::vector<size_t> of_photo;
};

Dates datesOf(const RootAges& ages)
{
    Dates found;
    for (const RootAges::Photo& photo : ages.photos) {
        if (found.dates.empty() || found.dates.back().date != photo.date)
            found.dates.push_back({photo.date, {}, 0});
        found.dates.back().photos.push_back(photo.name);
        found.of_photo.push_back(found.dates.size() - 1);
    }
    return found;
}

/// The wall that the first photo of a history shows.
cv::Mat background(const std::string& photo, const std::string& tub, const SeasonStore& store, cv::Size size)
{
    cv::Mat picture(size, CV_8UC3, kWall);
    for (const KeptView& kept : store.views(tub)) {
        const auto view = kept.photo == photo ? earlierView(kept, store) : std::nullopt;
        const auto panel = view ? view->panel() : std::nullopt;
        if (panel && panel->visible.size() == size) picture.setTo(kNoWall, panel->visible == 0);
    }
    return picture;
}

/// @param mm_per_px  empty where that is not known.
json legendOf(const std::string& tub, const Dates& found, const std::vector<cv::Vec3b>& colours,
              std::optional<double> mm_per_px)
{
    json dates = json::array();
    for (size_t i = 0; i < found.dates.size(); ++i) {
        const DateSeen& date = found.dates[i];
        json area = nullptr;
        if (mm_per_px) area = std::round(date.pixels * *mm_per_px * *mm_per_px * 10) / 10;
        dates.push_back({{"date", date.date},
                         {"photos", date.photos},
                         {"colour", hex(colours[i])},
                         {"first_seen_px", date.pixels},
                         {"first_seen_mm2", area}});
    }
    return {{"schema", 1}, {"tub", tub}, {"dates", dates}};
}

}  // namespace

void writeGrowthMap(const std::filesystem::path& out, const std::string& tub, const RootAges& ages,
                    const SeasonStore& store)
{
    Dates found = datesOf(ages);
    const std::vector<cv::Vec3b> colours = ageColours(found.dates.size());
    cv::Mat map = background(found.dates[0].photos[0], tub, store, ages.first_seen.size());
    for (int y = 0; y < map.rows; ++y)
        for (int x = 0; x < map.cols; ++x) {
            const size_t nth = ages.first_seen.at<ushort>(y, x);
            if (nth == 0 || nth > found.of_photo.size()) continue;
            const size_t date = found.of_photo[nth - 1];
            map.at<cv::Vec3b>(y, x) = colours[date];
            ++found.dates[date].pixels;
        }
    writeFile(out / growthMapName(tub), encoded(".png", map, {cv::IMWRITE_PNG_COMPRESSION, 9}));
    const json legend = legendOf(tub, found, colours, ages.mmPerPx());
    writeFile(out / growthLegendName(tub), legend.dump(1, ' ', false, json::error_handler_t::replace) + "\n");
}

}  // namespace slipglass
