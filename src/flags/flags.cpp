#include "slipglass/flags/flags.h"

#include <algorithm>
#include <array>
#include <set>
#include <tuple>

#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr const char* kStandingWater = "standing-water";
constexpr const char* kWaterlogged = "waterlogged";
constexpr const char* kDrying = "drying";
constexpr const char* kBrowning = "browning";
constexpr const char* kGreenWall = "green-wall";
constexpr const char* kNoRootsYet = "no-roots-yet";
constexpr const char* kRetake = "retake";
/// Among flags of one severity the one that can do most harm first.
constexpr std::array<const char*, 7> kByHarm{kWaterlogged, kStandingWater, kBrowning, kDrying,
                                             kNoRootsYet,  kGreenWall,     kRetake};

using Points = std::vector<const SeriesPoint*>;

/// A run of photos on which a condition holds, from the first that shows it to the last.
struct Run {
    Points points;
    std::optional<Date> ended;  ///< first photo that shows the opposite; empty while the run lasts
};

/// The latest run of points for which `holds` (SeriesPoint -> optional<bool>) is true. Where it is empty
/// nothing is known, which neither starts nor ends a run.
template <class Holds>
std::optional<Run> latestRun(const Series& series, Holds&& holds)
{
    std::optional<Run> run;
    for (const auto& point : series.points) {
        const std::optional<bool> held = holds(point);
        if (!held) continue;
        if (*held) {
            if (!run || run->ended) run = Run{};
            run->points.push_back(&point);
        } else if (run && !run->ended) {
            run->ended = point.seen.taken.date;
        }
    }
    return run;
}

std::optional<bool> waterStands(const SeriesPoint& point)
{
    return usable(point.seen) ? point.seen.standing_water : std::nullopt;
}

std::string count(int n, const char* one, const char* many)
{
    return std::to_string(n) + " " + (n == 1 ? one : many);
}

int daysCovered(const Points& points)
{
    std::set<Date> days;
    for (const auto* point : points) days.insert(point->seen.taken.date);
    return static_cast<int>(days.size());
}

Date dateOf(const SeriesPoint* point)
{
    return point->seen.taken.date;
}

Flag flagFor(const Series& series, const char* name, Severity severity, const Run& run)
{
    Flag flag;
    flag.tub = series.cutting.tub;
    flag.cutting = series.cutting.cutting;
    flag.name = name;
    flag.severity = severity;
    flag.date = dateOf(run.points.front());
    for (const auto* point : run.points) flag.photos.push_back(point->seen.photo);
    flag.holds = !run.ended;
    flag.cleared = run.ended;
    return flag;
}

/// A run that lasts although newer photos could not tell.
std::string sinceThenUnseen(const Series& series, const Run& run)
{
    if (run.ended || !series.latest_photo || *series.latest_photo == dateOf(run.points.back())) return {};
    return "; not visible since then (latest photo " + isoDate(*series.latest_photo) + ")";
}

std::string waterText(const Observation& seen)
{
    if (seen.water_level_mm) {
        std::string text = figureText(seen.water_level_mm, 0) + " mm of water";
        if (seen.water_low_mm && seen.water_high_mm)
            text +=
                " (" + figureText(seen.water_low_mm, 0) + " to " + figureText(seen.water_high_mm, 0) + ")";
        return text;
    }
    if (seen.water_level_percent)
        return "water in the lowest " + figureText(seen.water_level_percent, 0) + " % of the medium";
    return "standing water";
}

std::optional<Flag> standingWater(const Series& series)
{
    const auto run = latestRun(series, waterStands);
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, kStandingWater, Severity::act_today, *run);
    const Observation& last = run->points.back()->seen;
    flag.evidence =
        waterText(last) + " at the base on " + isoDate(last.taken.date) + sinceThenUnseen(series, *run);
    flag.advice =
        "Tip the water out, holding the cutting and the medium back, and water less until none stands at the "
        "base. "
        "If the tub has no holes, make some. Keep lamps and heat mats dry while you do it.";
    return flag;
}

/// The first point at which the run is long enough to be `waterlogged`; empty when it never is.
std::optional<size_t> waterloggedFrom(const Run& run, const FlagSettings& settings)
{
    for (size_t i = 0; i < run.points.size(); ++i) {
        const Points so_far(run.points.begin(), run.points.begin() + static_cast<long>(i) + 1);
        if (daysCovered(so_far) >= settings.waterlogged_photos ||
            daysBetween(dateOf(so_far.front()), dateOf(so_far.back())) >= settings.waterlogged_days)
            return i;
    }
    return std::nullopt;
}

std::optional<Flag> waterlogged(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, waterStands);
    if (!run) return std::nullopt;
    const auto from = waterloggedFrom(*run, settings);
    if (!from) return std::nullopt;
    Flag flag = flagFor(series, kWaterlogged, Severity::act_today, *run);
    flag.date = dateOf(run->points[*from]);
    const Date first = dateOf(run->points.front());
    const Date last = dateOf(run->points.back());
    flag.evidence = "water at the base on " + std::to_string(run->points.size()) + " photos running, " +
                    isoDate(first) + " to " + isoDate(last) + "; last " +
                    waterText(run->points.back()->seen) + sinceThenUnseen(series, *run);
    flag.advice =
        "Tip the water out today and let the medium drain. Look at the base of the stem: soft, dark or "
        "smelling of rot "
        "means it may be lost; firm means it can recover. Water less, and add holes or more perlite next "
        "time.";
    return flag;
}

/// Median of the darkest third: how light this tub's medium is when damp, whatever the medium and the lamp.
double dampReference(std::vector<double> lightness)
{
    std::sort(lightness.begin(), lightness.end());
    const size_t third = (lightness.size() + 2) / 3;
    const size_t middle = third / 2;
    return third % 2 == 1 ? lightness[middle] : (lightness[middle - 1] + lightness[middle]) / 2;
}

std::optional<double> lightnessRise(const Series& series, const SeriesPoint& now)
{
    if (!now.seen.wall_lightness) return std::nullopt;
    std::vector<double> so_far;
    for (const auto& point : series.points) {
        if (usable(point.seen) && point.seen.wall_lightness) so_far.push_back(*point.seen.wall_lightness);
        if (&point == &now) break;
    }
    return *now.seen.wall_lightness - dampReference(so_far);
}

std::optional<bool> isDrying(const Series& series, const SeriesPoint& point, const FlagSettings& settings)
{
    if (!usable(point.seen)) return std::nullopt;
    const auto rise = lightnessRise(series, point);
    if (!rise && !point.seen.wetness) return std::nullopt;
    if (point.seen.standing_water.value_or(false)) return false;  // never ask for more water then
    return (rise && *rise >= settings.drying_lightness_rise) ||
           (point.seen.wetness && *point.seen.wetness <= settings.drying_wetness);
}

std::optional<Flag> drying(const Series& series, const FlagSettings& settings)
{
    const auto run =
        latestRun(series, [&](const SeriesPoint& point) { return isDrying(series, point, settings); });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, kDrying, Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    const auto rise = lightnessRise(series, last);
    std::string what;
    if (rise && *rise >= settings.drying_lightness_rise)
        what = "the medium at the wall is lighter than when damp, by " + figureText(rise, 0) + " of 100";
    if (last.seen.wetness && *last.seen.wetness <= settings.drying_wetness)
        what +=
            std::string(what.empty() ? "" : ", ") + "wetness " + figureText(last.seen.wetness, 2) + " of 1";
    flag.evidence = what + " on " + isoDate(dateOf(&last)) + sinceThenUnseen(series, *run);
    flag.advice =
        "Feel the medium first: a different light can make it look paler. If it is dry, water lightly, until "
        "damp and "
        "not soggy. Dry peat, perlite and vermiculite give off dust: wet it gently and do not breathe it.";
    return flag;
}

/// Usable points of days before `now` that know what is asked for.
template <class Known>
Points earlierThan(const Series& series, const SeriesPoint& now, Known&& known)
{
    Points points;
    for (const auto& point : series.points) {
        if (&point == &now) break;
        if (usable(point.seen) && point.seen.taken.date < now.seen.taken.date && known(point.seen))
            points.push_back(&point);
    }
    return points;
}

bool knowsWhiteRoot(const Observation& seen)
{
    return seen.coverage_percent && seen.coverage_low && seen.coverage_high && seen.browned_percent;
}

/// White root area, percent of the wall, of a coverage.
double whiteOf(const Observation& seen, double coverage)
{
    return coverage * (1 - *seen.browned_percent / 100);
}

/// The earlier photo with most white root, if what is left of it now is less, by the settings' share, even
/// where both photos err as far as their intervals reach.
const SeriesPoint* whiterBefore(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    if (!knowsWhiteRoot(now.seen)) return nullptr;
    const SeriesPoint* best = nullptr;
    const auto surely = [](const SeriesPoint& p) { return whiteOf(p.seen, *p.seen.coverage_low); };
    for (const SeriesPoint* point : earlierThan(series, now, knowsWhiteRoot))
        if (!best || surely(*point) > surely(*best)) best = point;
    const double left = 1 - settings.white_root_loss_percent / 100;
    if (!best || whiteOf(now.seen, *now.seen.coverage_high) >= left * surely(*best)) return nullptr;
    return best;
}

/// Browned past the threshold in standing water, having been less so before.
bool brownsInWater(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    const Observation& seen = now.seen;
    if (!seen.browned_percent || !seen.standing_water.value_or(false)) return false;
    if (!seen.coverage_percent || seen.coverage_low.value_or(*seen.coverage_percent) <= 0) return false;
    if (*seen.browned_percent <= settings.browned_percent) return false;
    const Points before =
        earlierThan(series, now, [](const Observation& o) { return o.browned_percent.has_value(); });
    return std::any_of(before.begin(), before.end(), [&](const SeriesPoint* point) {
        return *point->seen.browned_percent < *seen.browned_percent;
    });
}

std::optional<Flag> browning(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        if (!usable(point.seen) || !point.seen.browned_percent) return std::nullopt;
        return brownsInWater(series, point, settings) || whiterBefore(series, point, settings);
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, kBrowning, Severity::look_soon, *run);
    const SeriesPoint& last = *run->points.back();
    const std::string day = isoDate(dateOf(&last));
    if (brownsInWater(series, last, settings))
        flag.evidence = figureText(last.seen.browned_percent, 0) +
                        " % of the root area browned, in standing water, on " + day;
    if (const SeriesPoint* before = whiterBefore(series, last, settings)) {
        if (!flag.evidence.empty()) flag.evidence += "; ";
        flag.evidence += "white root down from " +
                         figureText(whiteOf(before->seen, *before->seen.coverage_percent), 1) +
                         " % of the wall on " + isoDate(dateOf(before)) + " to " +
                         figureText(whiteOf(last.seen, *last.seen.coverage_percent), 1) + " % on " + day;
        if (std::find(flag.photos.begin(), flag.photos.end(), before->seen.photo) == flag.photos.end())
            flag.photos.insert(flag.photos.begin(), before->seen.photo);
    }
    flag.evidence += sinceThenUnseen(series, *run);
    flag.advice =
        "Likely rot, but look before acting: ripening roots darken too, and browning alone is not rot. Firm "
        "brown roots are alive; soft ones that slip off their core, or a smell, are rot. Tip standing water "
        "out, "
        "water less, and cut away only what is soft, with a clean blade.";
    return flag;
}

/// The earlier photo with the least green wall, if there is more now by the settings' share.
const SeriesPoint* lessGreenBefore(const Series& series, const SeriesPoint& now, const FlagSettings& settings)
{
    const SeriesPoint* least = nullptr;
    const auto known = [](const Observation& seen) { return seen.green_percent.has_value(); };
    for (const SeriesPoint* point : earlierThan(series, now, known))
        if (!least || *point->seen.green_percent < *least->seen.green_percent) least = point;
    if (!least || *now.seen.green_percent < *least->seen.green_percent + settings.green_percent)
        return nullptr;
    return least;
}

std::optional<Flag> greenWall(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        if (!usable(point.seen) || !point.seen.green_percent) return std::nullopt;
        return lessGreenBefore(series, point, settings) != nullptr;
    });
    if (!run) return std::nullopt;
    Flag flag = flagFor(series, kGreenWall, Severity::note, *run);
    const SeriesPoint& last = *run->points.back();
    const SeriesPoint& before = *lessGreenBefore(series, last, settings);
    flag.evidence = "green on " + figureText(last.seen.green_percent, 0) + " % of the wall on " +
                    isoDate(dateOf(&last)) + ", " + figureText(before.seen.green_percent, 0) + " % on " +
                    isoDate(dateOf(&before)) + sinceThenUnseen(series, *run);
    if (std::find(flag.photos.begin(), flag.photos.end(), before.seen.photo) == flag.photos.end())
        flag.photos.insert(flag.photos.begin(), before.seen.photo);
    flag.advice =
        "Shade the tub's sides, with card or foil kept clear of lamps and heat mats: algae need light, roots "
        "do "
        "not. They do no harm to the roots by themselves, but they hide them and show that the medium is "
        "kept wet.";
    return flag;
}

/// Days since it was stuck or, as a lower bound where that is not known, since its first photo.
int ageAt(const Series& series, const SeriesPoint& point)
{
    return point.days_since_stuck.value_or(daysBetween(*series.first_photo, point.seen.taken.date));
}

std::optional<Flag> noRootsYet(const Series& series, const FlagSettings& settings)
{
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        const Date date = point.seen.taken.date;
        if (!usable(point.seen) || !point.seen.coverage_percent) return std::nullopt;
        if (series.roots_first_seen && date >= *series.roots_first_seen) return false;
        return ageAt(series, point) > settings.no_roots_days;
    });
    if (!run) return std::nullopt;
    const SeriesPoint& last = *run->points.back();
    const int age = ageAt(series, last);
    const bool likely_failed = age >= settings.likely_failed_days;
    Flag flag = flagFor(series, kNoRootsYet, likely_failed ? Severity::look_soon : Severity::note, *run);
    flag.evidence =
        "no roots seen on " + isoDate(dateOf(&last)) + ", " +
        (series.cutting.stuck_on ? count(age, "day", "days") + " after it was stuck"
                                 : "at least " + count(age, "day", "days") + " old (first photo)") +
        sinceThenUnseen(series, *run);
    flag.advice =
        likely_failed
            ? "By now it has likely failed. Look before you throw it away: green under the bark and firm at "
              "the "
              "base means it can still root. Roots in the middle of the tub cannot be seen through the wall."
            : "Check that it is damp and warm at the base, and wait. Do not pull it to look: that breaks "
              "young "
              "roots.";
    return flag;
}

/// A day with one good photo of the tub is a good day, however many bad ones were taken on it.
std::set<Date> daysWithGoodPhoto(const Series& series)
{
    std::set<Date> days;
    for (const auto& point : series.points)
        if (usable(point.seen)) days.insert(point.seen.taken.date);
    return days;
}

std::string joined(const std::vector<std::string>& parts)
{
    std::string text;
    for (const auto& part : parts) text += (text.empty() ? "" : "; ") + part;
    return text;
}

std::optional<Flag> retake(const Series& series)
{
    const auto good_days = daysWithGoodPhoto(series);
    const auto run = latestRun(series, [&](const SeriesPoint& point) -> std::optional<bool> {
        return good_days.count(point.seen.taken.date) == 0;
    });
    if (!run) return std::nullopt;
    const int days = daysCovered(run->points);
    Flag flag = flagFor(series, kRetake, days > 1 ? Severity::look_soon : Severity::note, *run);
    const Observation& last = run->points.back()->seen;
    flag.evidence = "the photo of " + isoDate(last.taken.date) + " could not be measured" +
                    (days > 1 ? "; the same on " + count(days - 1, "earlier day", "earlier days") : "") +
                    (last.notes.empty() ? "" : ": " + joined(last.notes));
    flag.advice =
        "Take it again: the whole tub in the picture and upright, the camera level with its middle, in "
        "focus, without "
        "flash and with no lamp mirrored in the wall.";
    return flag;
}

size_t harmRank(const Flag& flag)
{
    return static_cast<size_t>(std::find(kByHarm.begin(), kByHarm.end(), flag.name) - kByHarm.begin());
}

bool moreUrgent(const Flag& a, const Flag& b)
{
    if (a.holds != b.holds) return a.holds;
    if (!a.holds && a.cleared != b.cleared) return a.cleared > b.cleared;
    const auto a_rank = harmRank(a), b_rank = harmRank(b);
    return std::tie(a.severity, a_rank, a.date, a.tub, a.cutting) <
           std::tie(b.severity, b_rank, b.date, b.tub, b.cutting);
}

}  // namespace

const char* severityText(Severity severity)
{
    switch (severity) {
        case Severity::act_today:
            return "act today";
        case Severity::look_soon:
            return "look soon";
        case Severity::note:
            break;
    }
    return "note";
}

std::vector<Flag> findFlags(const std::vector<Series>& series, const FlagSettings& settings)
{
    std::vector<Flag> flags;
    for (const auto& one : series)
        for (const auto& flag :
             {standingWater(one), waterlogged(one, settings), browning(one, settings), drying(one, settings),
              noRootsYet(one, settings), greenWall(one, settings), retake(one)})
            if (flag) flags.push_back(*flag);
    std::stable_sort(flags.begin(), flags.end(), moreUrgent);
    return flags;
}

}  // namespace slipglass
