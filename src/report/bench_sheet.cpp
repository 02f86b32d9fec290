#include <map>

#include "page_files.h"
#include "page_parts.h"
#include "plain_words.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

/// Why, and since when.
std::string sinceWords(const Need& need, const Words& words)
{
    std::string why = words.say(need.why);
    if (!need.since) return why;
    return words("{why} since {date}", {{"why", why}, {"date", words.shortDay(*need.since)}});
}

PageData needLine(const TubRound& round, const Need& need, bool is_first, const std::string& place,
                  const Words& words)
{
    PageData line;
    line.set("tub", validUtf8(is_first ? round.tub : ""));
    line.set("place", validUtf8(is_first ? place : ""));
    line.set("action", validUtf8(capitalised(words.say(need.what))));
    line.set("cuttings",
             need.cuttings.empty() ? PageData{false} : PageData{validUtf8(joined(need.cuttings, ", "))});
    line.set("why", validUtf8(sinceWords(need, words)));
    line.set("call", severityText(need.severity));
    return line;
}

}  // namespace

std::string benchSheetHtml(const SeasonReport& season, const Rounds& rounds)
{
    const Words words(season.pages);
    std::map<std::string, std::string> places;
    for (const Series& series : season.series) {
        const PlannedCutting& cutting = series.cutting;
        places.emplace(cutting.tub, joined({cutting.position, cutting.variety}, "; "));
    }
    PageData lines = emptyList();
    for (const TubRound& round : rounds.tubs)
        for (const Need& need : round.needs)
            lines.push_back(needLine(round, need, &need == &round.needs.front(), places[round.tub], words));
    PageData page;
    page.set("any", PageData{!rounds.tubs.empty()});
    page.set("lines", lines);
    page.set("none_yet", rounds.no_photo_yet.empty()
                             ? PageData{false}
                             : PageData{validUtf8(joined(rounds.no_photo_yet, ", "))});
    page.set("fine", rounds.fine.empty() ? PageData{false} : PageData{validUtf8(joined(rounds.fine, ", "))});
    page.set("newest", newestData(rounds.newest_photo, words));
    return Skeleton(page_file::benchSheet(), page_file::benchSheetScript(), words)
        .pageOf(page, words("Bench sheet - rooting season"));
}

}  // namespace slipglass
