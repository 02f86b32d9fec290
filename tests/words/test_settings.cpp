// Truth by construction throughout: the JSON texts are written here, the expected values can be read in them.
#include <gtest/gtest.h>

#include <string>

#include "slipglass/error.h"
#include "slipglass/settings.h"

namespace slipglass {
namespace {

struct WaterSettings {
    double standing_mm = 2.0;
    int photos_running = 2;
    bool warn = true;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("standing_mm", self.standing_mm, Bounds{0.1, 50});
        visit("photos_running", self.photos_running, Bounds{1, 9});
        visit("warn", self.warn);
    }
};

struct RootSettings {
    double min_lightness = 60.0;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("min_lightness", self.min_lightness, Bounds{0, 100});
    }
};

class Settings : public testing::Test {
protected:
    WaterSettings water;
    RootSettings roots;

    std::vector<SettingField> fields()
    {
        std::vector<SettingField> all;
        appendFields("water", water, all);
        appendFields("roots", roots, all);
        return all;
    }
    void read(const std::string& text) { readSettings(text, "settings.json", fields(), {"tub_types"}); }
    std::string complaint(const std::string& text)
    {
        try {
            read(text);
        } catch (const Error& error) {
            return error.what();
        }
        return "no complaint";
    }
};

TEST_F(Settings, SetsWhatIsNamedAndLeavesTheRest)
{
    read(R"({"water": {"standing_mm": 3.5, "photos_running": 4, "warn": false}, "tub_types": []})");
    EXPECT_EQ(water.standing_mm, 3.5);
    EXPECT_EQ(water.photos_running, 4);
    EXPECT_FALSE(water.warn);
    EXPECT_EQ(roots.min_lightness, 60.0);
}

TEST_F(Settings, ReadsAFileWithAByteOrderMark)
{
    read("\xEF\xBB\xBF{\"water\": {\"standing_mm\": 5}}");
    EXPECT_EQ(water.standing_mm, 5.0);
}

TEST_F(Settings, TakesBothEndsOfABound)
{
    read(R"({"water": {"standing_mm": 0.1, "photos_running": 9}})");
    EXPECT_EQ(water.standing_mm, 0.1);
    EXPECT_EQ(water.photos_running, 9);
}

TEST_F(Settings, NamesTheNearestKnownField)
{
    EXPECT_EQ(complaint(R"({"water": {"standin_mm": 3}})"),
              "settings.json: unknown setting \"water.standin_mm\". Perhaps \"water.standing_mm\" is meant.");
}

TEST_F(Settings, NamesTheGroupAFieldReallyBelongsTo)
{
    EXPECT_EQ(
        complaint(R"({"water": {"min_lightness": 50}})"),
        "settings.json: unknown setting \"water.min_lightness\". Perhaps \"roots.min_lightness\" is meant.");
}

TEST_F(Settings, NamesTheNearestKnownGroup)
{
    EXPECT_EQ(complaint(R"({"Waters": {}})"),
              "settings.json: unknown setting \"Waters\". Perhaps \"water\" is meant.");
    EXPECT_EQ(complaint(R"({"tub_typs": []})"),
              "settings.json: unknown setting \"tub_typs\". Perhaps \"tub_types\" is meant.");
}

TEST_F(Settings, ListsWhatIsKnownWhenNothingIsNear)
{
    EXPECT_EQ(complaint(R"({"camera": {}})"),
              "settings.json: unknown setting \"camera\". Known here: tub_types, water, roots.");
}

TEST_F(Settings, NamesTheBoundThatAValueBreaks)
{
    EXPECT_EQ(complaint(R"({"roots": {"min_lightness": 120}})"),
              "settings.json: roots.min_lightness is 120, outside 0..100. Give a value within 0..100.");
}

TEST_F(Settings, RefusesAValueOfTheWrongType)
{
    EXPECT_EQ(complaint(R"({"water": {"standing_mm": "3"}})"),
              "settings.json: water.standing_mm is \"3\". Give a number, without quotes.");
    EXPECT_EQ(complaint(R"({"water": {"warn": 1}})"), "settings.json: water.warn is 1. Give true or false.");
    EXPECT_EQ(complaint(R"({"water": {"photos_running": 2.5}})"),
              "settings.json: water.photos_running is 2.5. Give a whole number.");
    EXPECT_EQ(complaint(R"({"water": 3})"),
              "settings.json: \"water\" is not a group of settings. Write \"water\": {\"name\": value}.");
    EXPECT_EQ(complaint("[1]"), "settings.json: is not a JSON object. Write {\"group\": {\"name\": value}}.");
}

TEST_F(Settings, RefusesBracketsWithinBracketsBeforeTheyReachTheEndOfTheStack)
{
    const auto deep = [](size_t lists) {
        return R"({"water": {"standing_mm": ")" + std::string(200, '[') + R"("}, "roots": )" +
               std::string(lists, '[') + std::string(lists, ']') + "}";
    };
    EXPECT_EQ(complaint(deep(100'000)),
              "settings.json: has more brackets within brackets than anything needs. Take out what does not "
              "belong there.");
    EXPECT_EQ(complaint(deep(50)).find("brackets"), std::string::npos) << "those in a text are none";
}

TEST_F(Settings, RefusesAKeyGivenTwice)
{
    EXPECT_EQ(complaint(R"({"water": {"warn": true, "warn": false}})"),
              "settings.json: gives \"warn\" twice in one place. Keep one of the two.");
    EXPECT_EQ(complaint(R"({"water": {}, "water": {}})"),
              "settings.json: gives \"water\" twice in one place. Keep one of the two.");
}

TEST_F(Settings, SaysLineAndColumnOfBrokenJson)
{
    // The second line lacks the comma at its end; the parser stumbles at the closing quote of "warn",
    // column 9.
    const std::string said = complaint("{\"water\": {\n  \"standing_mm\": 3\n  \"warn\": true}}");
    EXPECT_NE(said.find("line 3, column 8"), std::string::npos) << said;
    EXPECT_NE(complaint("").find("line 1, column 1"), std::string::npos);
}

TEST_F(Settings, RefusesANumberBeyondDoubles)
{
    EXPECT_NE(complaint(R"({"roots": {"min_lightness": 1e999}})"), "no complaint");
}

TEST_F(Settings, ChangesNothingWhenAnythingIsWrong)
{
    complaint(R"({"roots": {"min_lightness": 70}, "water": {"standing_mm": -1}})");
    EXPECT_EQ(roots.min_lightness, 60.0);
}

TEST_F(Settings, AreWrittenExactlyAndInOrder)
{
    roots.min_lightness = 0.1 + 0.2;  // shortest decimal that gives this double back: 0.30000000000000004
    EXPECT_EQ(settingsText(fields()),
              "water.standing_mm=2\nwater.photos_running=2\nwater.warn=true\n"
              "roots.min_lightness=0.30000000000000004\n");
}

TEST(NearestWord, FindsASlipOfThePen)
{
    EXPECT_EQ(nearestWord("varity", {"tub", "variety", "medium"}), "variety");
    EXPECT_EQ(nearestWord("MEDIUM", {"tub", "variety", "medium"}), "medium");
}

TEST(NearestWord, IsEmptyWhenNothingIsNear)
{
    EXPECT_EQ(nearestWord("camera", {"tub", "variety"}), "");
}

}  // namespace
}  // namespace slipglass
