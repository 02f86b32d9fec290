#include "slipglass/terminal_text.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "slipglass/folded_name.h"

namespace slipglass {
namespace {

TEST(Printable, LeavesReadableTextAlone)
{
    for (const char* text : {"", "T01", "Weidenkübel 7", "пруток", "木", "a\\b \"c\"", "e\xCC\x81"})
        EXPECT_EQ(printable(text), text);
}

TEST(Printable, SpellsOutWhatATerminalObeys)
{
    EXPECT_EQ(printable("\x1B[31mred"), "\\u001b[31mred");
    EXPECT_EQ(printable("\xC2\x9B"
                        "2J"),
              "\\u009b2J")
        << "the same, as one character";
    EXPECT_EQ(printable("a\nslipglass: b\r\tc"), "a\\nslipglass: b\\r\\tc");
    EXPECT_EQ(printable("\x7F\x07"), "\\u007f\\u0007");
    EXPECT_EQ(printable("\xE2\x80\xAEgpj.exe"), "\\u202egpj.exe") << "turns what follows round";
    EXPECT_EQ(printable("\xF3\xA0\x81\x81"), "\\udb40\\udc41") << "a tag, which nobody sees";
    EXPECT_EQ(printable("\x9B"
                        "31m"),
              "\xEF\xBF\xBD"
              "31m")
        << "not UTF-8";
}

// Truth: what a JSON library reads back.
TEST(Printable, KeepsJsonTheSame)
{
    const std::string nasty =
        "a\x7F\xC2\x9B"
        "b\xE2\x80\xAE\xF3\xA0\x81\x81\xE2\x80\xA8"
        "c";
    const std::string written = nlohmann::json(nasty).dump();
    EXPECT_NE(printable(written), written);
    EXPECT_EQ(nlohmann::json::parse(printable(written)), nasty);
}

TEST(FoldedName, IsTheSameWhereADiskTakesTwoNamesForOne)
{
    EXPECT_EQ(foldedName("T01"), foldedName("t01"));
    EXPECT_EQ(foldedName("WEIDENK\xC3\x9C"
                         "BEL"),
              foldedName("weidenku\xCC\x88"
                         "bel"));
    EXPECT_NE(foldedName("T01"), foldedName("T02"));
}

}  // namespace
}  // namespace slipglass
