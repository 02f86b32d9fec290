#include "slipglass/flags/kinds.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <set>

#include "../support/scratch_folder.h"

namespace slipglass {
namespace {

TEST(FlagKinds, HaveWordsAndStandInTheReadme)
{
    const std::string readme =
        test::readBytes(std::filesystem::path(SLIPGLASS_SAMPLES).parent_path() / "README.md");
    std::set<std::string> names;
    for (const FlagKind& kind : flagKinds()) {
        EXPECT_TRUE(names.insert(kind.name).second) << kind.name;
        for (const std::string text : {kind.words, kind.ask, kind.seen})
            EXPECT_FALSE(text.empty()) << kind.name;
        EXPECT_LE(std::string(kind.ask).size(), 40U) << kind.name << ": a line has no room";
        if (std::string(kind.name) == "photo-due") continue;
        EXPECT_NE(readme.find("| `" + std::string(kind.name) + "` |"), std::string::npos) << kind.name;
    }
    EXPECT_THROW(flagKind("no-such-flag"), std::logic_error);
    EXPECT_STREQ(flagKind("drying").ask, "feel the medium, water lightly if dry");
}

}  // namespace
}  // namespace slipglass
