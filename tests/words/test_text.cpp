#include "slipglass/text.h"

#include <gtest/gtest.h>

namespace slipglass {
namespace {

TEST(Text, JoinsWhatIsThere)
{
    EXPECT_EQ(joined({"a", "", "b"}, "; "), "a; b");
    EXPECT_EQ(joined({"", ""}, "; "), "");
    EXPECT_EQ(joined({}, "; "), "");
}

TEST(Text, CountsOneAndMany)
{
    EXPECT_EQ(counted(0, "tub", "tubs"), "0 tubs");
    EXPECT_EQ(counted(1, "tub", "tubs"), "1 tub");
    EXPECT_EQ(counted(2, "tub", "tubs"), "2 tubs");
}

TEST(Text, MakesAsciiLettersSmallAndLeavesOthersAlone)
{
    EXPECT_EQ(inSmall("T01 Écru-Z[@"), "t01 Écru-z[@");
}

}  // namespace
}  // namespace slipglass
