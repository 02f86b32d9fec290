#include <algorithm>
#include <cmath>
#include <set>

#include "plain_words.h"
#include "season_parts.h"
#include "slipglass/season/figures.h"

namespace slipglass {

namespace {

constexpr size_t kNamed = 5;  // in a line; of the others their number

void addFigure(PageData& figures, const std::string& value, const std::string& what)
{
    PageData figure;
    figure.set("value", value);
    figure.set("what", what);
    figure.set("due", PageData{false});
    figures.push_back(figure);
}

std::string daysWords(const std::optional<TimeSpan>& days, const Words& words)
{
    if (!days) return words("not known");
    if (!std::isfinite(days->right)) return words("over {days}", {{"days", Number{days->left}}});
    return figureText(days->left, 0) + "–" + figureText(days->right, 0);
}

PageData figuresOf(const SeasonReport& season, const Rounds& rounds, const Words& words)
{
    const auto urgent = std::count_if(rounds.tubs.begin(), rounds.tubs.end(), [](const TubRound& round) {
        return round.needs.front().severity == Severity::act_today;
    });
    size_t struck = 0, told = 0;
    for (const Series& series : season.series) {
        struck += series.struck.has_value();
        told += series.state != StrikeState::no_photos;
    }
    PageData figures = emptyList();
    addFigure(figures,
              urgent == 0 ? words.inSense("tubs", "none") : words.numbered(urgent, "{n} tub", "{n} tubs"),
              urgent > 1 ? words("need you today") : words("needs you today"));
    addFigure(figures,
              told == 0 ? words("not known")
                        : words("{n} of {all}", {{"n", std::to_string(struck)},
                                                 {"all", std::to_string(season.series.size())}}),
              words("cuttings struck"));
    addFigure(figures, daysWords(medianDaysToStrike(season.series), words), words("median days to strike"));
    const auto next = nextRound(rounds);
    PageData due;
    due.set("value", next ? words.shortDay(*next) : words("now"));
    due.set("what", words("next photos due"));
    due.set("due", next ? PageData{isoDate(*next)} : PageData{false});
    figures.push_back(due);
    return figures;
}

std::string named(const std::set<std::string>& all, const char* between, const Words& words)
{
    const std::vector<std::string> first(all.begin(), std::next(all.begin(), std::min(kNamed, all.size())));
    std::string text = joined(first, between);
    if (all.size() <= kNamed) return text;
    return words("{names} and {n} more", {{"names", text}, {"n", std::to_string(all.size() - kNamed)}});
}

/// What happened in the week to the newest photo, each kind in a line of its own.
class Changes {
public:
    void add(const char* kind, const std::string& what) { kinds_[kind].insert(what); }
    PageData lines(const Words& words) const
    {
        PageData lines = emptyList();
        for (const char* kind : {kStruck, kNew, kOver, kGone}) {
            const auto found = kinds_.find(kind);
            if (found == kinds_.end()) continue;
            PageData line;
            line.set("kind", words(kind));
            line.set("what", validUtf8(named(found->second, "; ", words)));
            lines.push_back(line);
        }
        return lines;
    }
    static constexpr const char *kStruck = translated("Struck"), *kNew = translated("New"),
                                *kOver = translated("Over"), *kGone = translated("Left their tubs");

private:
    std::map<std::string, std::set<std::string>> kinds_;
};

PageData changesIn(const SeasonReport& season, Date since, const Words& words)
{
    Changes changes;
    for (const Series& series : season.series) {
        const std::string& id = series.cutting.cutting;
        if (series.struck && series.struck->by > since) changes.add(Changes::kStruck, id);
        if (series.ended_on && *series.ended_on > since) changes.add(Changes::kGone, id);
    }
    std::map<std::string, std::set<std::string>> begun, over;  // tubs by what was seen
    for (const Flag& flag : season.flags) {
        const std::string what = insideSentence(flagWords(flag.name, words), words);
        if (flag.holds && flag.waits_for.empty() && flag.date > since) begun[what].insert(flag.tub);
        if (!flag.holds && flag.cleared && *flag.cleared > since) over[what].insert(flag.tub);
    }
    for (const auto& [what, tubs] : begun) changes.add(Changes::kNew, what + ": " + named(tubs, ", ", words));
    for (const auto& [what, tubs] : over) changes.add(Changes::kOver, what + ": " + named(tubs, ", ", words));
    return changes.lines(words);
}

}  // namespace

void addGlance(PageData& page, const SeasonReport& season, const ForPages& with)
{
    const Rounds& rounds = with.rounds;
    const Words& words = with.words;
    page.set("glance", figuresOf(season, rounds, words));
    page.set("newest", newestData(rounds.newest_photo, words));
    PageData changes{false};
    if (rounds.newest_photo) {
        const Date since{std::chrono::sys_days{*rounds.newest_photo} - std::chrono::days{kRoundDays}};
        changes = PageData{};
        changes.set("until", words.shortDay(*rounds.newest_photo));
        const PageData lines = changesIn(season, since, words);
        changes.set("any", PageData{lines.is_non_empty_list()});
        changes.set("lines", lines);
    }
    page.set("changes", changes);
}

}  // namespace slipglass
