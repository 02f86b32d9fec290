#include "held.h"

#include <gtest/gtest.h>

#include "../support/scratch_folder.h"

namespace slipglass {
namespace {

TEST(Held, IsTheSeasonsOwnFileElseWhatWasGivenFromElsewhere)
{
    const test::ScratchFolder scratch;
    const auto own = scratch.write("season/care.csv", "own"),
               other = scratch.write("desk/care.csv", "other now");
    const auto given = [](const std::filesystem::path& name) {
        return std::optional(Given::File{"as given", name.string(), *parseIsoDate("2026-02-01")});
    };
    EXPECT_EQ(heldText(own, std::nullopt, false), "own");
    EXPECT_EQ(heldText(own, given(own), false), "own") << "a spreadsheet may have changed it";
    EXPECT_EQ(heldText(own, given(other), false), "as given");
    EXPECT_EQ(heldText(own, given(other), true), "own") << "written since";
    EXPECT_EQ(heldText(scratch / "season/batch.csv", std::nullopt, false), "");
}

TEST(Held, IsKeptWhenTheFileIsThrownAway)
{
    const test::ScratchFolder scratch;
    const auto own = scratch / "season/care.csv";
    const Given::File given{"as given", own.string(), *parseIsoDate("2026-02-01")};
    EXPECT_EQ(heldText(own, given, false), "as given");
}

}  // namespace
}  // namespace slipglass
