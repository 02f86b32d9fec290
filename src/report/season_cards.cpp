#include <algorithm>

#include "plain_words.h"
#include "season_parts.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

const char* const kFolder = output::kReport;

/// The cutting's line of coverage; false without two photos that show roots.
PageData sparkData(const Series& series, const Scale& scale, const SeasonSettings& settings,
                   const Words& words)
{
    const double days = scale.first ? std::max(1, daysBetween(*scale.first, *scale.last)) : 1;
    std::string points;
    const SeriesPoint *first = nullptr, *last = nullptr;
    for (const auto& point : series.points) {
        const auto& seen = point.seen;
        if (!usable(seen) || !rootsSeen(seen, settings).value_or(false)) continue;
        first = first ? first : &point;
        last = &point;
        const double x = 1 + 118 * daysBetween(*scale.first, seen.taken.date) / days;
        const double y = 22.5 - 21 * *seen.coverage_percent / scale.top_percent;
        points.append(points.empty() ? "" : " ")
            .append(figureText(x, 1))
            .append(",")
            .append(figureText(y, 1));
    }
    if (first == last) return PageData{false};
    PageData spark;
    spark.set("points", points);
    spark.set("says", words("Roots cover {first} % on {first_date} and {last} % on {last_date}",
                            {{"first", words.number(first->seen.coverage_percent, 1)},
                             {"first_date", words.shortDay(first->seen.taken.date)},
                             {"last", words.number(last->seen.coverage_percent, 1)},
                             {"last_date", words.shortDay(last->seen.taken.date)}}));
    return spark;
}

}  // namespace

Scale scaleOf(const SeasonReport& season)
{
    Scale scale;
    for (const auto& series : season.series)
        for (const auto& point : series.points) {
            const Date date = point.seen.taken.date;
            scale.first = std::min(scale.first.value_or(date), date);
            scale.last = std::max(scale.last.value_or(date), date);
            if (usable(point.seen))
                scale.top_percent = std::max(scale.top_percent, point.seen.coverage_percent.value_or(0));
        }
    return scale;
}

std::string pageAddress(const Series& series, const ForPages& with)
{
    return with.address(cuttingPageName(with.files.at(series.cutting.cutting)), kFolder);
}

PageData pictureData(const Series& series, const ForPages& with, const SeasonSettings& settings)
{
    const SeriesPoint* point = latestWith(series, with.pictures, &PhotoPictures::small);
    if (!point) return PageData{false};
    PageData picture;
    picture.set("src", with.address(picturesOf(*point, with.pictures).small, kFolder));
    picture.set("alt", validUtf8(pictureWords(point->seen, settings, with.words)));
    return picture;
}

PageData cardData(const Series& series, const SeasonReport& season, const ForPages& with, const Scale& scale)
{
    const Rounds& rounds = with.rounds;
    const Words& words = with.words;
    const PlannedCutting& cutting = series.cutting;
    PageData card;
    card.set("id", validUtf8(cutting.cutting));
    card.set("page", pageAddress(series, with));
    card.set("variety", validUtf8(cutting.variety));
    card.set("medium", validUtf8(cutting.medium));
    card.set("treatment", validUtf8(cutting.treatment));
    card.set("state", stateWords(series, words));
    card.set("about", validUtf8(joined({cutting.variety, tubWords(cutting, words)}, "; ")));
    card.set("picture", pictureData(series, with, season.settings));
    const auto* covered = latestKnown(series, &Observation::coverage_percent);
    card.set("coverage", covered ? figureText(covered->seen.coverage_percent, 2) : "");
    card.set("roots", covered ? joined({coverageWords(covered->seen, season.settings, words),
                                        whenNotLatest(series, *covered, words)},
                                       " ")
                              : words("not known"));
    const auto* watered = latestWater(series);
    card.set("water",
             watered ? joined({waterWords(watered->seen, words), whenNotLatest(series, *watered, words)}, " ")
                     : words("not known"));
    card.set("days", series.days_since_stuck ? std::to_string(*series.days_since_stuck) : "");
    const std::string age = ageWords(series, words);
    card.set("age", age.empty() ? words("not known") : age);
    card.set("spark", sparkData(series, scale, season.settings, words));

    PageData needs = emptyList();
    std::string urgency, found_by;
    for (size_t i = 0; i < rounds.tubs.size(); ++i) {
        if (rounds.tubs[i].tub != cutting.tub || series.ended_on) continue;
        for (const Need& need : rounds.tubs[i].needs) {
            if (!isAbout(need, cutting.cutting)) continue;
            if (urgency.empty()) urgency = std::to_string(i);
            needs.push_back(needData(need, words));
            found_by.append(" ").append(flagWords(need.flag, words));
        }
    }
    card.set("urgency", urgency);
    card.set("any_need", PageData{!urgency.empty()});
    card.set("needs", needs);
    card.set("find",
             validUtf8(joined({cutting.cutting, cutting.tub, cutting.variety, cutting.position, cutting.note},
                              " ") +
                       found_by));
    return card;
}

}  // namespace slipglass
