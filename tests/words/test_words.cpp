#include <gtest/gtest.h>

#include "slipglass/words.h"

namespace slipglass {
namespace {

using namespace std::chrono;

constexpr Date kDay = 2026y / March / 16;

Words in(const char* language, const char* units = "mm")
{
    return Words({language, units});
}

TEST(Words, EnglishIsWhatStandsInTheSources)
{
    const Words words;
    EXPECT_EQ(words("Rooting season"), "Rooting season");
    EXPECT_EQ(words("{n} of {all}", {{"n", "2"}, {"all", "12"}}), "2 of 12");
    EXPECT_EQ(words.numbered(1, "{n} tub", "{n} tubs"), "1 tub");
    EXPECT_EQ(words.numbered(0, "{n} tub", "{n} tubs"), "0 tubs");
    EXPECT_EQ(words.day(kDay), "16 Mar 2026");
    EXPECT_EQ(words.shortDay(kDay), "16 Mar");
    EXPECT_EQ(words.ofScript(R"js(t("Closer"))js"), "");
}

TEST(Words, SpeakGermanAndSpanish)
{
    EXPECT_EQ(in("de")("Rooting season"), "Stecklingssaison");
    EXPECT_EQ(in("es")("Rooting season"), "Temporada de esquejes");
    EXPECT_EQ(in("de").numbered(1, "{n} cutting", "{n} cuttings"), "1 Steckling");
    EXPECT_EQ(in("de").numbered(3, "{n} cutting", "{n} cuttings"), "3 Stecklinge");
    EXPECT_EQ(in("es").numbered(0, "{n} day", "{n} days"), "0 días");
}

TEST(Words, DatesAndNumbersFollowTheLanguage)
{
    EXPECT_EQ(in("de").day(kDay), "16.\u00a0März 2026");
    EXPECT_EQ(in("es").day(kDay), "16 mar 2026");
    EXPECT_EQ(in("de").number(3.25, 2), "3,25");
    EXPECT_EQ(in("de").number(12, 0), "12");
    EXPECT_EQ(in("de").number(std::nullopt, 1), "");
}

TEST(Words, ASentenceThatIsNotTranslatedStaysEnglish)
{
    EXPECT_EQ(in("de")("Nobody has said this yet: {n}", {{"n", "1"}}), "Nobody has said this yet: 1");
}

TEST(Words, LengthsAreInTheReadersUnit)
{
    EXPECT_EQ(in("en").length(8, 0), "8 mm");
    EXPECT_EQ(in("en", "inch").length(8, 0), "0.31 in");  // 8 / 25.4 = 0.315
    EXPECT_EQ(in("de", "inch").length(254, 0), "10,0 Zoll");
    EXPECT_EQ(in("en", "inch").area(224), "0.35 in²");  // 224 / 645.16
    EXPECT_EQ(in("en").area(224), "224 mm²");
}

TEST(Words, FilesStayEnglishInMmWithIsoDates)
{
    const Said water = said("{water} at the base on {date}",
                            {{"water", Text{said("{level} of water", {{"level", Mm{8}}})}}, {"date", kDay}});
    EXPECT_EQ(english(water), "8 mm of water at the base on 2026-03-16");
    EXPECT_EQ(in("en").say(water), "8 mm of water at the base on 16 Mar 2026");
    EXPECT_EQ(in("de", "inch").say(water), "0,31 Zoll Wasser am Boden am 16.\u00a0März 2026");
    EXPECT_EQ(english(Text{water, said("their length is not known")}),
              "8 mm of water at the base on 2026-03-16; their length is not known");
}

TEST(Words, APageIsTranslatedBeforeItIsFilled)
{
    const std::string skeleton =
        R"(<h1 title="{{#t}}Water{{/t}}">{{#t}}Before: {{id}}{{/t}}</h1>{{#t}}Wall{{/t}})";
    EXPECT_EQ(in("en").inSkeleton(skeleton), R"(<h1 title="Water">Before: {{id}}</h1>Wall)");
    EXPECT_EQ(in("de").inSkeleton(skeleton), R"(<h1 title="Wasser">Davor: {{id}}</h1>Wand)");
}

TEST(Words, AScriptBringsATableOfWhatItSays)
{
    EXPECT_EQ(in("de").ofScript(R"js(say(t("Closer"), fit("not this"), t("{count} of {all} shown", {})))js"),
              R"({"Closer":"Näher","{count} of {all} shown":"{count} von {all} gezeigt"})");
}

// What stands in a place is never taken for a place itself.
TEST(Words, WhatIsFilledInStaysAsItIs)
{
    EXPECT_EQ(Words()("{n} of {all}", {{"n", "{all}"}, {"all", "{n}"}}), "{all} of {n}");
}

TEST(Words, AreTheSameWhateverTheEnvironment)
{
    for (const char* name : {"LANGUAGE", "LC_ALL", "LANG"}) setenv(name, "es_ES.UTF-8", 1);
    EXPECT_EQ(in("en")("Wall"), "Wall");
    EXPECT_EQ(in("de")("Wall"), "Wand");
    EXPECT_EQ(in("en").number(0.5, 1), "0.5");
}

}  // namespace
}  // namespace slipglass
