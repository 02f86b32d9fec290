#include "slipglass/flags/kinds.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <set>
#include <vector>

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

// Every pair of kinds that can hold together: which is said first, the other only after ("before"), or both.
// One voice for each cutting: no potting up in water or with rot, no water where it stands, causes before
// consequences.
TEST(FlagKinds, ContradictEachOtherInNoPair)
{
    const std::vector<std::string> kinds{"waterlogged",  "standing-water", "browning", "drying",
                                         "crowding",     "slow-to-absorb", "stalled",  "ready-to-pot",
                                         "no-roots-yet", "green-wall",     "retake",   "photo-due"};
    // Row before column: '1' when the row's kind comes first. In the order above.
    const std::vector<std::string> first{
        "010101110000",  // waterlogged: tip out, look for rot. It says all of standing-water and what to give
                         // less of
        "000101110000",  // standing-water: tip out
        "000000110000",  // browning: look for rot; why it stalls, and no time to pot it up
        "000001100000",  // drying: water lightly; not "give less water"
        "000000000000",  // crowding: separate them; potting up does that too
        "000000000000",  // slow-to-absorb
        "000000000000",  // stalled: check water and warmth
        "000000100000",  // ready-to-pot: a full tub grows no more
        "000000000000",  // no-roots-yet: check that it lives, whatever else
        "000000000000",  // green-wall: shade it
        "000000000000",  // retake: what older photos say still holds
        "000000000000",  // photo-due
    };
    ASSERT_EQ(kinds.size(), flagKinds().size());
    for (size_t i = 0; i < kinds.size(); ++i) {
        EXPECT_EQ(flagKind(kinds[i]).name, kinds[i]);
        for (size_t j = 0; j < kinds.size(); ++j) {
            EXPECT_EQ(comesBefore(kinds[i], kinds[j]), first[i][j] == '1')
                << kinds[i] << " before " << kinds[j];
            EXPECT_FALSE(comesBefore(kinds[i], kinds[j]) && comesBefore(kinds[j], kinds[i])) << "a ring";
        }
    }
}

}  // namespace
}  // namespace slipglass
