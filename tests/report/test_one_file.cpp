#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <set>

#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/writers.h"

namespace slipglass {
namespace {

using test::covered;
using test::planned;
using test::ScratchFolder;

/// Values of an attribute, in order. Not by std::regex, which a picture's length is too much for.
std::vector<std::string> allValuesOf(const std::string& page, const std::string& attribute)
{
    const std::string start = " " + attribute + "=\"";
    std::vector<std::string> values;
    for (size_t at = page.find(start); at != std::string::npos; at = page.find(start, at + 1)) {
        const size_t from = at + start.size();
        values.push_back(page.substr(from, page.find('"', from) - from));
    }
    return values;
}

std::set<std::string> valuesOf(const std::string& page, const std::string& attribute)
{
    const auto all = allValuesOf(page, attribute);
    return {all.begin(), all.end()};
}

/// A season of two cuttings in a folder, with pictures of 1600 px.
struct Sent {
    ScratchFolder folder;
    SeasonReport season;
    Sent()
    {
        Plan plan;
        plan.cuttings = {planned("a", "T01"), planned("b/<c>", "T02")};
        season =
            buildSeason({covered(0, 1, "T01"), covered(7, 2, "T01"), covered(7, 3, "T02")}, {}, plan, {});
        cv::Mat noise(1600, 1200, CV_8UC3);
        cv::RNG(7).fill(noise, cv::RNG::UNIFORM, 0, 255);
        for (const auto& [photo, overlay] : overlayNames(season.observations))
            for (const std::string& name : {overlay, pagePictureNames(overlay).small}) {
                std::filesystem::create_directories((folder.path() / name).parent_path());
                cv::imwrite((folder.path() / name).string(), noise);
            }
    }
};

TEST(OneFile, HoldsAllThatItShows)
{
    const Sent sent;
    const std::string page = oneFileHtml(sent.season, sent.folder.path());
    const auto sources = valuesOf(page, "src");
    EXPECT_GE(sources.size(), 2U);
    for (const std::string& source : sources) EXPECT_EQ(source.find("data:image/jpeg;base64,"), 0U);
    const auto ids = valuesOf(page, "id");
    for (const std::string& link : valuesOf(page, "href")) {
        ASSERT_EQ(link.find('#'), 0U) << link;
        EXPECT_EQ(ids.count(link.substr(1)), 1U) << link << " leads nowhere";
    }
    EXPECT_NE(page.find("b/&lt;c&gt;"), std::string::npos);
    EXPECT_EQ(page.find("<c>"), std::string::npos);
    EXPECT_EQ(oneFileHtml(sent.season, sent.folder.path()), page);
}

TEST(OneFile, GivesEveryPlaceInItANameOfItsOwn)
{
    const Sent sent;
    const std::string page = oneFileHtml(sent.season, sent.folder.path());
    const size_t count = allValuesOf(page, "id").size();
    EXPECT_GT(count, 20U);  // those of the graphs too
    EXPECT_EQ(valuesOf(page, "id").size(), count);
}

TEST(OneFile, HasPicturesReduced)
{
    // A picture of noise hardly gets smaller otherwise: in full each of the three has 2 MB and more.
    const Sent sent;
    EXPECT_LT(oneFileHtml(sent.season, sent.folder.path()).size(), 2000000U);
}

TEST(OneFile, DoesWithoutPictures)
{
    const Sent sent;
    const std::string page = oneFileHtml(sent.season, sent.folder.path() / "elsewhere");
    EXPECT_TRUE(valuesOf(page, "src").empty());
    EXPECT_NE(page.find("id=\"cutting-2\""), std::string::npos);
}

}  // namespace
}  // namespace slipglass
