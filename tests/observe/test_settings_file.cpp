#include <gtest/gtest.h>

#include <set>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/observe.h"

namespace slipglass {
namespace {

TEST(SettingsFile, SetsAFieldOfEachGroupAndLeavesTheRest)
{
    const test::ScratchFolder scratch;
    const Settings read = readSettingsFile(scratch.write("settings.json", R"({
        "label": {"qr_side_mm": 30}, "tub": {"min_confidence": 0.5}, "panel": {"frontal_deg": 50},
        "roots": {"learned": false}, "water": {"standing_mm": 3}, "quality": {"retake_sharpness": 0.1},
        "season": {"detection_limit_percent": 0.4}, "flags": {"no_roots_days": 30},
        "tub_types": [{"name": "pot", "rim_diameter_mm": 100, "base_diameter_mm": 80, "height_mm": 90}]})"));
    EXPECT_EQ(read.label.qr_side_mm, 30);
    EXPECT_EQ(read.tub.min_confidence, 0.5);
    EXPECT_EQ(read.panel.frontal_deg, 50);
    EXPECT_FALSE(read.roots.learned);
    EXPECT_EQ(read.standing.standing_mm, 3);
    EXPECT_EQ(read.quality.retake_sharpness, 0.1);
    EXPECT_EQ(read.season.detection_limit_percent, 0.4);
    EXPECT_EQ(read.flags.no_roots_days, 30);
    ASSERT_EQ(read.tub_types.size(), 1U);
    EXPECT_EQ(read.tub_types[0].name, "pot");
    EXPECT_EQ(read.panel.unit_per_px, PanelSettings{}.unit_per_px);
}

TEST(SettingsFile, NamesNoFieldTwiceAndEveryDefaultIsAllowed)
{
    Settings settings;
    std::set<std::string> names;
    for (const SettingField& field : settings.fields()) {
        EXPECT_TRUE(names.insert(field.group + "." + field.name).second) << field.name;
        if (field.word) {
            EXPECT_TRUE(mayBe(field, *field.word)) << field.name;
            continue;
        }
        const double value = field.number ? *field.number : field.whole ? *field.whole : *field.yes_no;
        EXPECT_GE(value, field.bounds.low) << field.name;
        EXPECT_LE(value, field.bounds.high) << field.name;
    }
    EXPECT_GT(names.size(), 25U);
}

TEST(SettingsFile, SaysWhatIsWrong)
{
    const test::ScratchFolder scratch;
    EXPECT_THROW(readSettingsFile(scratch / "nowhere.json"), Error);
    for (const char* text :
         {"", "{", "[]", R"({"water": {"standing_mm": 1e9}})", R"({"roots": {"learned": 1}})",
          R"({"water": {"standing_mm": 2, "standing_mm": 3}})"})
        EXPECT_THROW(readSettingsFile(scratch.write("settings.json", text)), Error) << text;
}

TEST(SettingsFile, IsRefusedWhereTwoSettingsContradictEachOther)
{
    for (const auto& [text, saying] :
         {std::pair{R"({"quality": {"retake_sharpness": 0.7}})", "quality.caution_sharpness"},
          {R"({"quality": {"retake_glare_percent": 3}})", "quality.retake_glare_percent"},
          {R"({"flags": {"no_roots_days": 60}})", "flags.likely_failed_days, 42"}})
        try {
            settingsFrom(text, "settings.json");
            ADD_FAILURE() << text;
        } catch (const Error& error) {
            EXPECT_NE(error.problem().find(saying), std::string::npos) << error.what();
        }
    EXPECT_NO_THROW(
        settingsFrom(R"({"flags": {"no_roots_days": 60, "likely_failed_days": 80}})", "settings.json"));
}

TEST(SettingsPage, IsTheOneInTheDocs)
{
    const std::string page = settingsPage(true);
    EXPECT_TRUE(page == test::readBytes(std::filesystem::path(SLIPGLASS_SAMPLES).parent_path() / "docs" /
                                        "settings.md"))
        << "build/src/slipglass settings --markdown > docs/settings.md";
    Settings settings;
    for (const SettingField& field : settings.fields()) {
        // Those of the rules that stand in for the network in tests.
        const std::set<std::string> rules{
            "learned", "max_width_mm", "min_length_mm", "min_length_alone_mm", "max_plumpness", "min_crest"};
        EXPECT_EQ(field.meaning.empty(), rules.count(field.name) > 0) << field.name;
        if (field.meaning.empty()) continue;
        EXPECT_NE(page.find("| `" + field.name + "` |"), std::string::npos) << field.name;
        EXPECT_NE(settingsPage(false).find(field.group + "." + field.name + " = "), std::string::npos);
    }
}

}  // namespace
}  // namespace slipglass
