#include "lesson_words.h"

#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

std::string heldOutWords(const Taught& taught, const Words& words)
{
    if (!taught.held_out_before.right || !taught.held_out_after.right) return "";
    return words(
        "Tried on photos left out of the lesson, it is right under {after} % of what was drawn; before, "
        "under "
        "{before} %.",
        {{"after", words.number(100 * *taught.held_out_after.right, 0)},
         {"before", words.number(100 * *taught.held_out_before.right, 0)}});
}

/// A jump where nobody drew is a warning.
std::string elsewhereWords(const Taught& taught, const Words& words)
{
    if (taught.elsewhere.empty()) return "";
    double before = 0, after = 0;
    for (const CoverageChange& photo : taught.elsewhere) {
        before += photo.before_percent;
        after += photo.after_percent;
    }
    const auto count = static_cast<double>(taught.elsewhere.size());
    return words.numbered(
        static_cast<long long>(taught.elsewhere.size()),
        "On {n} photo that nobody drew on, roots now cover {after} % on average; before, {before} %.",
        "On {n} photos that nobody drew on, roots now cover {after} % on average; before, {before} "
        "%.",
        {{"after", words.number(after / count, 1)}, {"before", words.number(before / count, 1)}});
}

}  // namespace

std::string learntWords(const Taught& taught, const Words& words)
{
    int strokes = 0;
    for (const LearntFrom& from : taught.learnt_from) strokes += from.root_strokes + from.not_root_strokes;
    const std::string from = words(
        "Learnt from {strokes} on {photos}.",
        {{"strokes", words.numbered(strokes, "{n} stroke", "{n} strokes")},
         {"photos",
          words.numbered(static_cast<long long>(taught.learnt_from.size()), "{n} photo", "{n} photos")}});
    return joined({from, heldOutWords(taught, words), elsewhereWords(taught, words),
                   words("The season is measured with it.")},
                  " ");
}

std::string lessonWords(const TeachResult& result, bool had, const Words& words)
{
    const std::string text = result.in_use
                                 ? learntWords(result.taught, words)
                                 : words("Nothing was learnt: {why}.", {{"why", Kept{result.why_not}}});
    std::vector<std::string> all{text};
    if (!result.in_use && had) all.push_back(words("What was learnt earlier is taken back too."));
    for (const Problem& problem : result.problems)
        all.push_back(words(
            "Left out: {file}: {reason}. {remedy}.",
            {{"file", problem.file}, {"reason", Kept{problem.reason}}, {"remedy", Kept{problem.remedy}}}));
    return joined(all, " ");
}

std::string forgottenWords(bool gone, const Words& words)
{
    return gone ? words("The teaching is undone: the season is measured as before it.")
                : words("Nothing had been taught.");
}

}  // namespace slipglass
