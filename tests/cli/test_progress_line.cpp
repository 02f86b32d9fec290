#include "../../src/cli/progress_line.h"

#include <gtest/gtest.h>

#include <sstream>

#include "../support/samples.h"
#include "run_program.h"

namespace slipglass {
namespace {

TEST(ProgressText, SaysWhatIsDoneAndHowLongTheRestTakesAtThatPace)
{
    EXPECT_EQ(progressText(0, 36, 0), "0 of 36 photos");
    EXPECT_EQ(progressText(12, 36, 90), "12 of 36 photos, about 3 minutes left");
    EXPECT_EQ(progressText(35, 36, 350), "35 of 36 photos, less than a minute left");
    EXPECT_EQ(progressText(1, 2, 60), "1 of 2 photos, about 1 minute left");
    EXPECT_EQ(progressText(10, 100, 590), "10 of 100 photos, about 89 minutes left");
    EXPECT_EQ(progressText(100, 300, 3600), "100 of 300 photos, about 2 hours left");
    EXPECT_EQ(progressText(36, 36, 300), "36 of 36 photos, now all of them together");
    EXPECT_EQ(progressText(0, 1, 0), "0 of 1 photo");
}

/// A run of 30 photos, ten seconds each, from any moment on.
std::string shown(bool terminal)
{
    std::ostringstream to;
    double now = 5000;
    ProgressLine line(to, terminal, [&] { return now; });
    for (int done = 0; done <= 30; ++done, now += 10) line.show(done, 30);
    line.clear();
    return to.str();
}

TEST(ProgressLine, IsDrawnOverItselfOnATerminalAndRubbedOutAtTheEnd)
{
    const std::string all = shown(true), anew = "\r\033[K";
    EXPECT_EQ(all.find('\n'), std::string::npos);
    EXPECT_EQ(all.find(anew + "0 of 30 photos" + anew + "1 of 30 photos, about 5 minutes left" + anew), 0U)
        << all;
    EXPECT_EQ(all.substr(all.size() - anew.size()), anew);
}

TEST(ProgressLine, IsALineAMinuteElsewhere)
{
    EXPECT_EQ(shown(false),
              "slipglass: 6 of 30 photos, about 4 minutes left\n"
              "slipglass: 12 of 30 photos, about 3 minutes left\n"
              "slipglass: 18 of 30 photos, about 2 minutes left\n"
              "slipglass: 24 of 30 photos, about 1 minute left\n"
              "slipglass: 30 of 30 photos, now all of them together\n");
}

TEST(ProgressLine, SaysNothingWhereThereIsNothingToDo)
{
    std::ostringstream to;
    ProgressLine line(to, true, [] { return 0.0; });
    line.show(0, 0);
    line.clear();
    EXPECT_EQ(to.str(), "");
}

/// What the program writes on a terminal of its own.
std::string onATerminal(std::vector<std::string> arguments)
{
    const int ours = posix_openpt(O_RDWR | O_NOCTTY);
    if (ours < 0 || grantpt(ours) != 0 || unlockpt(ours) != 0) throw std::runtime_error("no terminal");
    const int theirs = open(ptsname(ours), O_RDWR | O_NOCTTY);
    arguments.insert(arguments.begin(), SLIPGLASS_PROGRAM);
    std::vector<char*> argv;
    argv.reserve(arguments.size() + 1);
    for (std::string& a : arguments) argv.push_back(a.data());
    argv.push_back(nullptr);
    const pid_t pid = fork();
    if (pid == 0) {
        dup2(theirs, STDOUT_FILENO);
        dup2(theirs, STDERR_FILENO);
        execv(argv[0], argv.data());
        _exit(127);
    }
    close(theirs);
    std::string text;
    char some[512];
    for (ssize_t n = 0; (n = read(ours, some, sizeof some)) > 0;) text.append(some, static_cast<size_t>(n));
    close(ours);
    waitpid(pid, nullptr, 0);
    return text;
}

TEST(ProgressLine, IsSeenWhenMeasureRunsOnATerminal)
{
    const test::ScratchFolder scratch;
    const std::string photo = test::samplePhoto("T01_2026-01-12").string();
    const std::string all =
        onATerminal({"measure", photo, "--out", (scratch / "out").string(), "--settings",
                     scratch.write("quick.json", R"({"roots": {"learned": false}})").string()});
    const size_t last = all.rfind("\r\033[K");
    ASSERT_NE(last, std::string::npos) << all;
    EXPECT_NE(all.find("\r\033[K0 of 1 photo\r\033[K1 of 1 photo, now all of them together"),
              std::string::npos)
        << all;
    EXPECT_EQ(all.substr(0, last).find('\n'), std::string::npos) << "one line: " << all;
    EXPECT_NE(all.find("1 measured"), std::string::npos);
}

}  // namespace
}  // namespace slipglass
