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

TEST(Text, TooLongToReadLosesItsMiddleAndNoHalfLetter)
{
    EXPECT_EQ(readableLength("short"), "short");
    std::string accents;
    for (int i = 0; i < 5000; ++i) accents += "\u00e9";  // two bytes each
    for (const char* before : {"", "a"}) {
        const std::string text = before + accents, cut = readableLength(text);
        EXPECT_LT(cut.size(), 1000U);
        EXPECT_NE(cut.find(" bytes left out] "), std::string::npos);
        EXPECT_EQ(validUtf8(cut), cut) << "a letter was cut in two";
        EXPECT_EQ(cut.substr(0, 500), text.substr(0, 500));
        EXPECT_EQ(cut.substr(cut.size() - 100), text.substr(text.size() - 100));
    }
}

}  // namespace
}  // namespace slipglass
