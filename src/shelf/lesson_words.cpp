#include "lesson_words.h"

#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

std::string percent(double value, int decimals)
{
    return figureText(value, decimals) + " %";
}

std::string heldOutWords(const Taught& taught)
{
    if (!taught.held_out_before.right || !taught.held_out_after.right) return "";
    return " Tried on photos left out of the lesson, it is right under " +
           percent(100 * *taught.held_out_after.right, 0) + " of what was drawn; before, under " +
           percent(100 * *taught.held_out_before.right, 0) + ".";
}

/// A jump where nobody drew is a warning.
std::string elsewhereWords(const Taught& taught)
{
    if (taught.elsewhere.empty()) return "";
    double before = 0, after = 0;
    for (const CoverageChange& photo : taught.elsewhere) {
        before += photo.before_percent;
        after += photo.after_percent;
    }
    const auto count = static_cast<double>(taught.elsewhere.size());
    return " On " + counted(static_cast<int>(taught.elsewhere.size()), "photo", "photos") +
           " that nobody drew on, roots now cover " + percent(after / count, 1) + " on average; before, " +
           percent(before / count, 1) + ".";
}

}  // namespace

std::string learntWords(const Taught& taught)
{
    int strokes = 0;
    for (const LearntFrom& from : taught.learnt_from) strokes += from.root_strokes + from.not_root_strokes;
    return "Learnt from " + counted(strokes, "stroke", "strokes") + " on " +
           counted(static_cast<int>(taught.learnt_from.size()), "photo", "photos") + "." +
           heldOutWords(taught) + elsewhereWords(taught) + " The season is measured with it.";
}

std::string lessonWords(const TeachResult& result, bool had)
{
    std::string text =
        result.in_use ? learntWords(result.taught) : "Nothing was learnt: " + result.why_not + ".";
    if (!result.in_use && had) text += " What was learnt earlier is taken back too.";
    for (const Problem& problem : result.problems)
        text += " Left out: " + problem.file + ": " + problem.reason + ". " + problem.remedy + ".";
    return text;
}

std::string forgottenWords(bool gone)
{
    return gone ? "The teaching is undone: the season is measured as before it." : "Nothing had been taught.";
}

}  // namespace slipglass
