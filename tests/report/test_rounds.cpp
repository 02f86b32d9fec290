// What each tub needs, in a line of a terminal.
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "../support/season_maker.h"
#include "slipglass/flags/kinds.h"
#include "slipglass/report/rounds_text.h"

namespace slipglass {
namespace {

using test::covered;
using test::day;
using test::planned;
using test::seenOn;
using test::unmeasured;
using test::watered;

SeasonReport seasonOf(const std::vector<Observation>& seen, const std::vector<PlannedCutting>& cuttings = {})
{
    if (cuttings.empty()) return buildSeason(seen, {}, std::nullopt, {});
    Plan plan;
    plan.cuttings = cuttings;
    return buildSeason(seen, {}, plan, {});
}

std::vector<std::string> linesOf(const SeasonReport& season)
{
    return roundsLines(roundsOf(season));
}

/// A season in which flags are given by hand.
SeasonReport flagged(const std::vector<Observation>& seen, const std::vector<PlannedCutting>& cuttings,
                     const std::vector<Flag>& flags)
{
    SeasonReport season = seasonOf(seen, cuttings);
    season.flags = flags;
    return season;
}

Flag flagOf(const std::string& tub, const std::string& name, Severity severity, int since = 0,
            const std::string& cutting = "")
{
    Flag flag;
    flag.tub = tub;
    flag.cutting = cutting.empty() ? tub : cutting;
    flag.name = name;
    flag.severity = severity;
    flag.date = day(since);
    flag.evidence = {said("seen on the wall")};
    flag.advice = {said("Look, and do it")};
    return flag;
}

/// Columns, where each character takes one: bytes that do not continue a character.
size_t columns(const std::string& text)
{
    return static_cast<size_t>(
        std::count_if(text.begin(), text.end(), [](unsigned char c) { return (c & 0xC0U) != 0x80U; }));
}

TEST(Rounds, HaveALineForEachTubThatNeedsSomethingMostUrgentFirst)
{
    auto rooted = covered(7, 3.26, "T1");
    rooted.root_length_mm = 310.4;
    const auto lines = linesOf(seasonOf({covered(0, 0.5, "T1"), rooted, unmeasured(7, "dark", "T2"),
                                         watered(0, 5, "T10"), watered(7, 6, "T10")},
                                        {planned("T1", "T1"), planned("T2", "T2"), planned("T3", "T3"),
                                         planned("T10a", "T10"), planned("T10b", "T10")}));
    EXPECT_EQ(lines, (std::vector<std::string>{
                         "T10  act today  tip the water out, look for rot: 6 mm of water since 19 Jan",
                         "T2   note       take the photo again: it could not be measured since 19 Jan",
                         "No photo yet: T3", "Nothing to do for the rest: T1"}));
}

TEST(Rounds, SayWhenThereIsNothingToDo)
{
    EXPECT_EQ(linesOf(seasonOf({covered(0, 0.1, "T1"), covered(0, 0.1, "T2")})),
              std::vector<std::string>{"Nothing to do: T1, T2"});
    EXPECT_EQ(linesOf(SeasonReport{}),
              std::vector<std::string>{"Nothing to do: no cutting is left in a tub"});
}

TEST(Rounds, AskForAPhotoWhereTheLatestIsOlderThanTheOthers)
{
    const auto season = seasonOf({covered(0, 0.1, "T1"), covered(0, 0.1, "T2"), covered(11, 0.1, "T2")});
    EXPECT_EQ(linesOf(season), (std::vector<std::string>{"T1  look soon  take a photo: none since 12 Jan",
                                                         "Nothing to do for the rest: T2"}));
    EXPECT_EQ(roundsLines(roundsOf(season, 11)), std::vector<std::string>{"Nothing to do: T1, T2"});
}

TEST(Rounds, NeverCallATubWellOfWhichAPhotoCouldNotBeRead)
{
    SeasonReport season = seasonOf({covered(0, 0.1, "T1"), covered(0, 0.1, "T2")});
    season.problems = {{"T1_2026-01-13.jpg", "T1", "not measured", "is damaged", "Copy it again"},
                       {"T1_2026-01-14.jpg", "T1", "not measured", "is empty", "Copy it again"},
                       {"notes.txt", "", "not measured", "is not a photo", "Leave it out"}};
    EXPECT_EQ(linesOf(season),
              (std::vector<std::string>{"T1  note  take the photo again: 2 photos could not be read",
                                        "Nothing to do for the rest: T2"}));
    const Need need = roundsOf(season).tubs.at(0).needs.at(0);
    EXPECT_EQ(english(need.evidence), "T1_2026-01-13.jpg: is damaged; T1_2026-01-14.jpg: is empty");
    // What was measured before it was damaged counts as it did.
    season.problems = {{season.observations.front().photo, "T1", "not measured",
                        "is damaged; its figures are kept", "Copy it again"}};
    EXPECT_EQ(linesOf(season), std::vector<std::string>{"Nothing to do: T1, T2"});
}

TEST(Rounds, LeaveOutCuttingsThatArePottedUpOrGivenUp)
{
    std::vector<PlannedCutting> cuttings{planned("T1", "T1"), planned("T2", "T2"), planned("T3a", "T3"),
                                         planned("T3b", "T3")};
    cuttings[0].potted_up_on = day(8);
    cuttings[1].given_up_on = day(8);
    cuttings[2].potted_up_on = day(8);
    const auto lines = linesOf(seasonOf({watered(0, 9, "T1"), watered(7, 9, "T1"), watered(0, 9, "T2"),
                                         watered(7, 9, "T2"), covered(40, 0.1, "T3")},
                                        cuttings));
    ASSERT_FALSE(lines.empty());
    for (const auto& line : lines) {
        EXPECT_EQ(line.find("T1"), std::string::npos) << line;
        EXPECT_EQ(line.find("T2"), std::string::npos) << line;
    }
    EXPECT_NE(lines[0].find("T3"), std::string::npos) << "one of its cuttings is still there";
}

TEST(Rounds, NameTheCuttingWhereOthersOfTheTubDoNotNeedIt)
{
    const std::vector<PlannedCutting> cuttings{planned("T1-left", "T1"), planned("T1-right", "T1")};
    const auto one =
        flagged({seenOn(30, "T1")}, cuttings, {flagOf("T1", "stalled", Severity::look_soon, 7, "T1-right")});
    EXPECT_EQ(linesOf(one), std::vector<std::string>{
                                "T1  look soon  check water and warmth (T1-right): no growth since 19 Jan"});
    const auto both = flagged({seenOn(30, "T1")}, cuttings,
                              {flagOf("T1", "stalled", Severity::look_soon, 7, "T1-left"),
                               flagOf("T1", "stalled", Severity::look_soon, 7, "T1-right")});
    EXPECT_EQ(linesOf(both),
              std::vector<std::string>{"T1  look soon  check water and warmth: no growth since 19 Jan"});
}

TEST(Rounds, SayOnceThatWaterStandsAndForgetWhatCleared)
{
    Flag cleared = flagOf("T1", "drying", Severity::look_soon);
    cleared.holds = false;
    Flag again = flagOf("T1", "standing-water", Severity::act_today);
    again.waits_for = "waterlogged";
    const auto season = flagged({watered(0, 9, "T1")}, {planned("T1", "T1")},
                                {flagOf("T1", "waterlogged", Severity::act_today), again, cleared});
    EXPECT_EQ(linesOf(season),
              std::vector<std::string>{"T1  act today  tip the water out, look for rot: 9 mm "
                                       "of water since 12 Jan"});
}

TEST(Rounds, SayThatItCanBePottedUpOnceTheWaterIsOut)
{
    Flag ready = flagOf("T1", "ready-to-pot", Severity::look_soon);
    ready.waits_for = "standing-water";
    const auto season = flagged({watered(0, 9, "T1")}, {planned("T1", "T1")},
                                {flagOf("T1", "standing-water", Severity::act_today), ready});
    EXPECT_EQ(linesOf(season),
              std::vector<std::string>{"T1  act today  tip the water out: 9 mm of water since 12 Jan"});
    EXPECT_EQ(english(roundsOf(season).tubs.at(0).needs.at(0).advice),
              "Look, and do it Once that is done it can be potted up.");
    // Nobody pots up a rotting one.
    ready.waits_for = "browning";
    const auto rotting = flagged({watered(0, 9, "T1")}, {planned("T1", "T1")},
                                 {flagOf("T1", "browning", Severity::look_soon), ready});
    EXPECT_EQ(english(roundsOf(rotting).tubs.at(0).needs.at(0).advice), "Look, and do it");
}

TEST(Rounds, NameFurtherNeedsAsFarAsThereIsRoomAndCountTheRest)
{
    const auto season = flagged(
        {watered(0, 9, "T1")}, {planned("T1", "T1")},
        {flagOf("T1", "standing-water", Severity::act_today), flagOf("T1", "browning", Severity::look_soon),
         flagOf("T1", "green-wall", Severity::note), flagOf("T1", "retake", Severity::note)});
    EXPECT_EQ(linesOf(season),
              std::vector<std::string>{"T1  act today  tip the water out: 9 mm of water since "
                                       "12 Jan (+3)"});
}

TEST(Rounds, AreSortedByWhatIsWorstAboutEachTub)
{
    const auto season = flagged(
        {covered(20, 1, "T1"), covered(20, 1, "T2"), covered(20, 1, "T3"), covered(0, 1, "T4")},
        {planned("T1", "T1"), planned("T2", "T2"), planned("T3", "T3"), planned("T4", "T4")},
        {flagOf("T3", "waterlogged", Severity::act_today), flagOf("T2", "drying", Severity::look_soon),
         flagOf("T1", "green-wall", Severity::note), flagOf("T3", "green-wall", Severity::note)});
    const Rounds rounds = roundsOf(season);
    std::vector<std::string> order;
    for (const auto& round : rounds.tubs) order.push_back(round.tub);
    EXPECT_EQ(order, (std::vector<std::string>{"T3", "T2", "T4", "T1"})) << "a photo is due before a note";
    EXPECT_EQ(rounds.tubs[0].needs.size(), 2U);
}

TEST(Rounds, StayWithin80ColumnsWhateverTheIds)
{
    const std::vector<std::string> ids{"Weidenkübel 7", std::string(90, 'W').append("-07"),
                                       std::string("ü").append(40, 'x'), "T1"};
    for (const auto& id : ids)
        for (const FlagKind& kind : flagKinds()) {
            if (kind.name == std::string("photo-due")) continue;
            const std::string left = std::string(id).append("-left"),
                              right = std::string(id).append("-right");
            auto seen = watered(50, 120, id);
            seen.coverage_percent = 100;
            const auto season = flagged(
                {seen}, {planned(left, id), planned(right, id)},
                {flagOf(id, kind.name, Severity::act_today, 50, right),
                 flagOf(id, "browning", Severity::look_soon), flagOf(id, "crowding", Severity::note)});
            const auto lines = linesOf(season);
            ASSERT_EQ(lines.size(), 1U);
            EXPECT_LE(columns(lines[0]), 80U) << lines[0];
            EXPECT_GT(columns(lines[0]), 30U) << lines[0];
        }
}

TEST(Rounds, NameNoMoreTubsWithoutNeedsThanALineHolds)
{
    std::vector<Observation> seen;
    for (int i = 100; i < 400; ++i)
        seen.push_back(covered(0, 0.1, std::string("T").append(std::to_string(i))));
    const auto lines = linesOf(seasonOf(seen));
    ASSERT_EQ(lines.size(), 1U);
    EXPECT_LE(columns(lines[0]), 80U) << lines[0];
    EXPECT_EQ(lines[0].find("Nothing to do: T100, T101, "), 0U) << lines[0];
    // Truth by counting: those named and those counted are all 300.
    const auto named = static_cast<int>(std::count(lines[0].begin(), lines[0].end(), 'T'));
    EXPECT_NE(lines[0].find(std::string(" and ").append(std::to_string(300 - named)).append(" more")),
              std::string::npos)
        << lines[0];
}

TEST(Rounds, ShortenALongIdInItsMiddleBecauseIdsDifferAtTheirEnds)
{
    const auto lines = linesOf(
        seasonOf({watered(0, 9, "greenhouse-north-shelf-T01"), watered(0, 9, "greenhouse-north-shelf-T02")}));
    ASSERT_EQ(lines.size(), 2U);
    EXPECT_EQ(lines[0].find("greenhou…elf-T01  act today"), 0U) << lines[0];
    EXPECT_EQ(lines[1].find("greenhou…elf-T02  act today"), 0U) << lines[1];
}

TEST(Rounds, LetNoIdPlayWithTheTerminal)
{
    const auto lines = linesOf(seasonOf({watered(0, 9, "T\x1b[2J\n1"), watered(0, 9,
                                                                               "T\xe2\x80\xae"
                                                                               "2")}));
    for (const auto& line : lines)
        for (const char c : line) EXPECT_GE(static_cast<unsigned char>(c), 0x20U) << line;
    EXPECT_EQ(lines[0].substr(0, 14), R"(T\u001b[2J\n1 )");
    EXPECT_EQ(lines[1].substr(0, 8), R"(T\u202e2)") << "a character that turns the writing round";
}

TEST(Rounds, AreToldAtLengthInJson)
{
    const auto season =
        flagged({watered(0, 9, "T1"), covered(0, 1, "T2")}, {planned("T1", "T1"), planned("T2", "T2")},
                {flagOf("T1", "standing-water", Severity::act_today)});
    const auto json = nlohmann::json::parse(roundsJson(roundsOf(season)));
    EXPECT_EQ(json.at("newest_photo"), "2026-01-12");
    EXPECT_EQ(json.at("nothing_to_do"), nlohmann::json::array({"T2"}));
    const auto& need = json.at("tubs").at(0).at("needs").at(0);
    EXPECT_EQ(json.at("tubs").at(0).at("tub"), "T1");
    EXPECT_EQ(need.at("flag"), "standing-water");
    EXPECT_EQ(need.at("since"), "2026-01-12");
    EXPECT_EQ(need.at("severity"), "act today");
    EXPECT_EQ(need.at("evidence"), "seen on the wall");
    EXPECT_EQ(need.at("advice"), "Look, and do it");
    EXPECT_EQ(need.at("cuttings"), nlohmann::json::array());
}

}  // namespace
}  // namespace slipglass
