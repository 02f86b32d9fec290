#include "slipglass/film/film.h"
#include "slipglass/layout/file_names.h"

#include <algorithm>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <set>

#include "caption.h"
#include "slipglass/error.h"
#include "slipglass/layout/page_pictures.h"
#include "slipglass/overview/given.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/settings.h"
#include "slipglass/wall/read_wall.h"

namespace slipglass {

namespace {

/// A season as far as films need it.
struct Season {
    std::filesystem::path folder;
    SeasonReport report;
    PicturesThere pictures;
    std::set<std::string> joined;  ///< photos of the tub that are laid on each other
    std::optional<RootAges> ages;  ///< of the tub
    cv::Mat picture(const std::string& name) const
    {
        return name.empty() ? cv::Mat() : pictureFrom(folder / name);
    }
};

/// Photos of the tub's most photographed side, the earliest of such.
std::set<std::string> joinedPhotos(const SeasonStore& store, const std::string& tub)
{
    std::vector<std::pair<std::string, std::set<std::string>>> sides;
    for (const KeptView& kept : store.views(tub)) {
        auto side =
            std::find_if(sides.begin(), sides.end(), [&](const auto& one) { return one.first == kept.side; });
        if (side == sides.end()) side = sides.insert(sides.end(), {kept.side, {}});
        side->second.insert(kept.photo);
    }
    std::set<std::string> most;
    for (const auto& [id, photos] : sides)
        if (photos.size() > most.size()) most = photos;
    return most;
}

std::vector<std::string> tubsIn(const SeasonReport& report)
{
    std::set<std::string> tubs;
    for (const Observation& seen : report.observations) tubs.insert(seen.tub);
    return {tubs.begin(), tubs.end()};
}

Season open(const std::filesystem::path& folder, const std::string& tub)
{
    const SeasonStore store(folder / output::kSeason, SeasonStore::Use::read);
    const auto wall = store.wall(tub);
    Season season{folder, seasonIn(store), {}, joinedPhotos(store, tub), wall ? agesIn(*wall) : std::nullopt};
    const std::vector<std::string> tubs = tubsIn(season.report);
    if (std::find(tubs.begin(), tubs.end(), tub) == tubs.end()) {
        const std::string near = nearestWord(tub, tubs);
        throw Error(folder.string(), "has no photos of a tub '" + tub + "'",
                    near.empty() ? "Give the id of a tub that is in observations.csv"
                                 : "Perhaps '" + near + "' is meant");
    }
    season.pictures = picturesIn(folder, season.report.observations);
    return season;
}

/// The tub's roots by the date they were first seen.
struct Ages {
    cv::Mat nth;  ///< CV_16UC1, on the side's reference panel: 0 = no root, n = first seen on the n-th date
    std::vector<Date> dates;
    std::vector<cv::Vec3b> colours;  ///< one a date
    Legend legend;
};

Ages agesOf(const Season& season, const std::string& tub)
{
    if (!season.ages)
        throw Error(season.folder.string(), "has no growth map of the tub '" + tub + "' to tint by",
                    "Run 'slipglass measure' again, or leave --tint out");
    Ages ages;
    ages.nth = cv::Mat::zeros(season.ages->first_seen.size(), CV_16UC1);
    for (size_t i = 0; i < season.ages->photos.size(); ++i) {
        const auto date = parseIsoDate(season.ages->photos[i].date);
        if (!date) continue;
        if (ages.dates.empty() || ages.dates.back() != *date) ages.dates.push_back(*date);
        ages.nth.setTo(static_cast<double>(ages.dates.size()),
                       season.ages->first_seen == static_cast<int>(i) + 1);
    }
    ages.colours = ageColours(ages.dates.size());
    if (!ages.dates.empty())
        ages.legend = {ages.colours, isoDate(ages.dates.front()), isoDate(ages.dates.back())};
    return ages;
}

void tint(cv::Mat& wall, const Ages& ages, Date until)
{
    cv::Mat nth;
    cv::resize(ages.nth, nth, wall.size(), 0, 0, cv::INTER_NEAREST);
    for (size_t i = 0; i < ages.dates.size(); ++i) {
        if (ages.dates[i] > until) continue;
        cv::Mat mixed;
        const cv::Mat colour(wall.size(), CV_8UC3, cv::Scalar(ages.colours[i]));
        cv::addWeighted(wall, 0.25, colour, 0.75, 0, mixed);
        mixed.copyTo(wall, nth == static_cast<int>(i) + 1);
    }
}

/// A picture in its place, or why it has none.
struct Placed {
    cv::Mat picture;
    std::string why_not;
};

/// The unrolled walls of one side, all on its reference panel: as large as panels are.
class Walls {
public:
    Walls(const Season& season, const FilmWish& wish) : season_(season)
    {
        if (wish.tint_by_age) ages_ = agesOf(season, wish.tub);
    }
    Placed place(const Observation& seen, const PhotoPictures& there)
    {
        if (season_.joined.count(seen.photo) == 0)
            return {{},
                    seen.state == State::retake ? "it could not be measured"
                                                : "it shows another side of the tub"};
        cv::Mat wall = season_.picture(there.wall);
        if (wall.empty())
            return {{}, "its unrolled wall is not in the folder; run 'measure' again with the photo"};
        if (size_.empty()) size_ = {2 * wall.cols, 2 * wall.rows};  // they are kept at half a panel's size
        cv::resize(wall, wall, size_, 0, 0, cv::INTER_CUBIC);
        if (ages_) tint(wall, *ages_, seen.taken.date);
        return {wall, ""};
    }
    std::optional<Legend> legend() const
    {
        if (!ages_ || ages_->dates.empty()) return std::nullopt;
        return ages_->legend;
    }

private:
    const Season& season_;
    std::optional<Ages> ages_;
    cv::Size size_;
};

/// The photos, each turned and scaled until the tub's outline lies on the first one's.
class Photos {
public:
    explicit Photos(const Season& season) : season_(season) {}
    Placed place(const Observation& seen, const PhotoPictures& there)
    {
        if (seen.outline.size() != 4 || there.width < 1) return {{}, "no tub was found in it"};
        const cv::Mat photo = season_.picture(there.photo);
        if (photo.empty())
            return {{}, "its picture is not in the folder; run 'measure' again with the photo"};
        std::vector<cv::Point2f> outline;
        const double reduction = static_cast<double>(there.width) / photo.cols;
        for (const PhotoPoint& p : seen.outline) {
            const PicturePoint at = pictureFromPhoto(p, reduction);
            outline.emplace_back(static_cast<float>(at.x_px), static_cast<float>(at.y_px));
        }
        if (first_.empty()) {
            first_ = outline;
            seen_ = cutOut(photo.size());
        }
        // All four points count: none is far enough off to be left out.
        const cv::Mat way = cv::estimateAffinePartial2D(outline, first_, cv::noArray(), cv::RANSAC, 1e6);
        if (way.empty()) return {{}, "its tub does not lie on the first one's"};
        cv::Mat moved;
        cv::warpAffine(photo, moved, way, size_, cv::INTER_LINEAR, cv::BORDER_CONSTANT,
                       cv::Scalar(40, 40, 40));
        return {moved(seen_).clone(), ""};
    }

private:
    /// The tub and a little round it. Above and below more: seen from above, the near edge of its foot and
    /// the far one of its rim lie beyond the outline's corners.
    cv::Rect cutOut(cv::Size photo)
    {
        size_ = photo;
        const cv::Rect tub = cv::boundingRect(first_);
        const int size = std::max(tub.width, tub.height), beside = size / 10, beyond = size / 6;
        const cv::Rect around(tub.x - beside, tub.y - beyond, tub.width + 2 * beside,
                              tub.height + 2 * beyond);
        return around & cv::Rect({}, photo);
    }

    const Season& season_;
    std::vector<cv::Point2f> first_;
    cv::Size size_;
    cv::Rect seen_;
};

/// "T01, 2026-02-09, day 28".
std::string words(const Observation& seen, const SeasonReport& report)
{
    std::string text = seen.tub + ", " + isoDate(seen.taken.date);
    for (const Series& series : report.series)
        if (series.cutting.tub == seen.tub && series.cutting.stuck_on)
            return text.append(", day ").append(
                std::to_string(daysBetween(*series.cutting.stuck_on, seen.taken.date)));
    return text;
}

template <class Place>
Film filmWith(const Season& season, const std::string& tub, Place&& place,
              const std::optional<Legend>& legend)
{
    Film film;
    for (const Observation& seen : season.report.observations) {
        if (seen.tub != tub) continue;
        const auto there = season.pictures.photos.find({seen.photo, tub});
        const Placed placed =
            place(seen, there == season.pictures.photos.end() ? PhotoPictures{} : there->second);
        if (placed.picture.empty()) {
            film.left_out.push_back({seen.photo, placed.why_not});
            continue;
        }
        film.frames.push_back(withCaption(placed.picture, words(seen, season.report), legend));
        film.dates.push_back(seen.taken.date);
    }
    if (film.frames.empty())
        throw Error(season.folder.string(),
                    "has no picture of the tub '" + tub + "' for a film: " + film.left_out.front().photo +
                        ": " + film.left_out.front().why,
                    "Run 'slipglass measure' again with its photos");
    return film;
}

}  // namespace

Film filmOf(const std::filesystem::path& season_dir, const FilmWish& wish)
{
    if (wish.tint_by_age && wish.of != FilmOf::wall)
        throw Error("--tint", "is for films of the wall", "Add --wall, or leave --tint out");
    const Season season = open(season_dir, wish.tub);
    if (wish.of == FilmOf::photo) {
        Photos photos(season);
        return filmWith(
            season, wish.tub, [&](const auto& seen, const auto& there) { return photos.place(seen, there); },
            std::nullopt);
    }
    Walls walls(season, wish);
    return filmWith(
        season, wish.tub, [&](const auto& seen, const auto& there) { return walls.place(seen, there); },
        walls.legend());
}

}  // namespace slipglass
