// What came of teaching, as the page says it.
#include "lesson_words.h"

#include <gtest/gtest.h>

namespace slipglass {
namespace {

TeachResult lesson()
{
    TeachResult result;
    result.in_use = true;
    result.taught.learnt_from = {{"a.jpg", "T01", 2, 1}, {"b.jpg", "T01", 1, 0}};
    result.taught.held_out_before.right = 0.604;
    result.taught.held_out_after.right = 0.713;
    result.taught.elsewhere = {{"c.jpg", "T01", 1.0, 2.0}, {"d.jpg", "T01", 2.0, 4.0}};
    return result;
}

TEST(LessonWords, SayHowMuchBetterItDoesWhereItWasNotTaught)
{
    EXPECT_EQ(
        lessonWords(lesson(), false),
        "Learnt from 4 strokes on 2 photos. Tried on photos left out of the lesson, it is right under 71 "
        "% of what was drawn; before, under 60 %. On 2 photos that nobody drew on, roots now cover 3.0 % "
        "on average; before, 1.5 %. The season is measured with it.");
}

TEST(LessonWords, SayWhyNothingWasLearntAndWhatWasLeftOut)
{
    TeachResult result = lesson();
    result.in_use = false;
    result.why_not = "it does no better";
    EXPECT_EQ(lessonWords(result, false), "Nothing was learnt: it does no better.");
    EXPECT_EQ(lessonWords(result, true),
              "Nothing was learnt: it does no better. What was learnt earlier is taken back too.");
    result.problems = {{"corrections/x.json", "", "not measured", "is empty", "Delete the file"}};
    EXPECT_EQ(
        lessonWords(result, false),
        "Nothing was learnt: it does no better. Left out: corrections/x.json: is empty. Delete the file.");
}

}  // namespace
}  // namespace slipglass
