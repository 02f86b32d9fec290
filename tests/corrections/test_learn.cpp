// Learning from strokes, on features made up so that it is known what there is to learn: a medium in which
// the second feature, which the shipped layer takes for half a root, means a pale grain.
#include "slipglass/corrections/learn.h"

#include <gtest/gtest.h>

#include <cmath>
#include <opencv2/core.hpp>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

const RootLayer kShipped{{4, 4, 0}, -6};
constexpr double kThreshold = 0.45;

/// Rows of (thread, pale, noise), each spread by a little. The shipped layer says root from thread + pale of
/// about 1.45.
cv::Mat rows(double thread, double pale, int count, cv::RNG& random)
{
    cv::Mat features(count, 3, CV_32F);
    for (int r = 0; r < count; ++r) {
        features.at<float>(r, 0) = static_cast<float>(thread + random.gaussian(0.15));
        features.at<float>(r, 1) = static_cast<float>(pale + random.gaussian(0.15));
        features.at<float>(r, 2) = static_cast<float>(random.gaussian(1));
    }
    return features;
}

/// A photo on which faint roots were missed and pale grains called roots; `strokes` of each kind were drawn.
Lesson photo(const std::string& name, int strokes, cv::RNG& random)
{
    Lesson lesson;
    lesson.photo = name;
    for (int i = 0; i < strokes; ++i) {
        lesson.strokes.push_back({true, rows(1.3, 0, 100, random), 300});
        lesson.strokes.push_back({false, rows(0.4, 1.5, 100, random), 300});
    }
    lesson.untouched.push_back({rows(0, 0, 300, random), 300000});
    lesson.untouched.push_back({rows(2.2, 0.1, 300, random), 9000});
    return lesson;
}

Lessons season(int photos, int strokes, std::uint64_t seed = 1)
{
    cv::RNG random(seed);
    Lessons lessons;
    for (int i = 0; i < photos; ++i)
        lessons.corrected.push_back(photo("photo " + std::to_string(i), strokes, random));
    Lesson other = photo("other", 0, random);
    lessons.elsewhere.push_back(other);
    return lessons;
}

double changeOf(const RootLayer& layer)
{
    double sum = std::abs(layer.bias - kShipped.bias);
    for (size_t k = 0; k < layer.weights.size(); ++k) sum += std::abs(layer.weights[k] - kShipped.weights[k]);
    return sum;
}

TEST(Learning, SaysPhotosRightThatItWasNotTaught)
{
    const Lessons lessons = season(4, 6);
    const Learnt learnt = learn(lessons, kShipped, kThreshold);
    EXPECT_EQ(learnt.why_not, "");
    EXPECT_LT(*learnt.held_out_before.right, 0.4);
    EXPECT_GT(*learnt.held_out_after.right, 0.7);
    EXPECT_LT(learnt.held_out_after.otherwise, 0.005);
    EXPECT_LT(learnt.layer.weights[1], kShipped.weights[1]);  // pale is no sign of a root here

    const std::vector<Lesson> others = season(3, 6, 77).corrected;
    EXPECT_LT(*agreementOf(others, kShipped, kShipped, kThreshold).right, 0.4);
    EXPECT_GT(*agreementOf(others, learnt.layer, kShipped, kThreshold).right, 0.7);
}

TEST(Learning, GivesTheSameBytesEachTime)
{
    const auto text = [] {
        Taught taught;
        taught.layer = learn(season(3, 4), kShipped, kThreshold).layer;
        return taughtText(taught);
    };
    EXPECT_EQ(text(), text());
}

TEST(Learning, ChangesLittleForFewStrokesAndLessWithMoreCaution)
{
    const double few = changeOf(fittedLayer(season(2, 1), kShipped, 10)),
                 many = changeOf(fittedLayer(season(2, 30), kShipped, 10));
    EXPECT_GT(few, 0);
    EXPECT_LT(3 * few, many);
    EXPECT_LT(changeOf(fittedLayer(season(2, 6), kShipped, 30)),
              changeOf(fittedLayer(season(2, 6), kShipped, 1)));
}

TEST(Learning, LetsNoScribbleOutvoteTheRest)
{
    Lessons lessons = season(2, 3);
    lessons.corrected[0].strokes[1].area_px = 400;
    const RootLayer plain = fittedLayer(lessons, kShipped, 1);
    lessons.corrected[0].strokes[1].area_px = 400000;
    EXPECT_EQ(fittedLayer(lessons, kShipped, 1).weights, plain.weights);
}

TEST(Learning, NeedsStrokesOnTwoPhotos)
{
    const Learnt learnt = learn(season(1, 6), kShipped, kThreshold);
    EXPECT_NE(learnt.why_not.find("two photos or more"), std::string::npos);
    EXPECT_EQ(learnt.layer.weights, kShipped.weights);
}

TEST(Learning, KeepsTheShippedLayerWhenStrokesContradictEachOther)
{
    Lessons lessons = season(4, 4);
    for (size_t i = 0; i < lessons.corrected.size(); ++i)
        for (StrokePixels& stroke : lessons.corrected[i].strokes)
            if (i % 2) stroke.root = !stroke.root;
    const Learnt learnt = learn(lessons, kShipped, kThreshold);
    EXPECT_NE(learnt.why_not.find("no better"), std::string::npos) << learnt.why_not;
}

TEST(Learning, DoesNotLearnThatNothingIsARootFromRootlessPhotos)
{
    Lessons lessons = season(4, 4);
    for (auto* part : {&lessons.corrected, &lessons.elsewhere})
        for (Lesson& lesson : *part) {
            std::erase_if(lesson.strokes, [](const StrokePixels& s) { return s.root; });
            lesson.untouched.resize(1);
        }
    const Learnt learnt = learn(lessons, kShipped, kThreshold);
    EXPECT_NE(learnt.why_not.find("hardly a root"), std::string::npos) << learnt.why_not;
    EXPECT_EQ(learnt.layer.bias, kShipped.bias);
}

TEST(Learning, LeavesAFeatureAloneThatNeverChanges)
{
    Lessons lessons = season(2, 3);
    for (auto* part : {&lessons.corrected, &lessons.elsewhere})
        for (Lesson& lesson : *part) {
            for (StrokePixels& stroke : lesson.strokes) stroke.features.col(2).setTo(0.5);
            for (UntouchedPixels& left : lesson.untouched) left.features.col(2).setTo(0.5);
        }
    EXPECT_EQ(fittedLayer(lessons, kShipped, 1).weights[2], kShipped.weights[2]);
}

TEST(WhatWasTaught, IsReadBackAsItWasWritten)
{
    const test::ScratchFolder scratch;
    Taught taught;
    taught.model = "0123456789abcdef";
    taught.layer = {{0.1, -2.0 / 3, 1e-9}, -3.25};
    taught.caution = 3;
    taught.learnt_from = {{"T01_2026-01-12.jpg", "T01", 4, 2}};
    taught.held_out_before = {0.5, std::nullopt, 0.5, 0};
    taught.held_out_after = {0.75, std::nullopt, 0.75, 0.01};
    taught.elsewhere = {{"T02_2026-01-12.jpg", "T02", 1.5, 1.25}};
    const auto read = readTaught(scratch.write("taught.json", taughtText(taught)));
    ASSERT_TRUE(read);
    EXPECT_EQ(taughtText(*read), taughtText(taught));
    EXPECT_EQ(read->layer.weights, taught.layer.weights);
    EXPECT_FALSE(readTaught(scratch / "none.json"));
    EXPECT_THROW(readTaught(scratch.write("bad.json", "{}")), Error);
    EXPECT_THROW(readTaught(scratch.write("bad.json", "")), Error);
    EXPECT_THROW(readTaught(scratch.write("bad.json", R"({"schema": 1, "model": 3})")), Error);
}

}  // namespace
}  // namespace slipglass
