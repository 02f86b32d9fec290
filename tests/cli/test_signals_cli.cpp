// Whatever ends a run or stops listening to it: what is measured is kept, and the next run goes on.
#include <gtest/gtest.h>
#include <sys/ioctl.h>

#include <chrono>
#include <thread>

#include "../support/samples.h"
#include "../support/season_folder.h"
#include "run_program.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Ran;
using Words = std::vector<std::string>;

const Words kPhotos{"T01_2026-01-12", "T01_2026-02-02", "T01_2026-02-09", "T01_2026-02-17"};

class SignalsCli : public testing::Test {
protected:
    SignalsCli()
    {
        fs::create_directories(scratch_ / "photos");
        for (const std::string& name : kPhotos)
            fs::copy_file(test::samplePhoto(name), scratch_ / "photos" / (name + ".jpg"));
    }
    Words arguments() const
    {
        return {"measure",    (scratch_ / "photos").string(),
                "--out",      (scratch_ / "out").string(),
                "--threads",  "1",
                "--settings", scratch_.write("quick.json", R"({"roots": {"learned": false}})").string()};
    }
    std::string line() const
    {
        std::string all = "slipglass";
        for (const std::string& word : arguments()) all += " '" + word + "'";
        return all;
    }
    size_t kept() const
    {
        try {
            return SeasonStore(scratch_ / "out/season.db", SeasonStore::Use::read).photos().size();
        } catch (const Error&) {
            return 0;  // not made yet, or being written
        }
    }
    void waitForOne() const
    {
        for (int i = 0; i < 3000 && kept() == 0; ++i)
            std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    void expectGoesOn() const
    {
        EXPECT_GE(kept(), 1U);
        EXPECT_LT(kept(), kPhotos.size());
        const Ran rest = test::run(arguments());
        EXPECT_EQ(rest.code, 0) << rest.err;
        EXPECT_EQ(rest.out.find(" 0 kept"), std::string::npos) << rest.out;
        EXPECT_EQ(kept(), kPhotos.size());
    }
    test::ScratchFolder scratch_;
};

TEST_F(SignalsCli, EndsAsByCtrlCWhenAskedInAnyWay)
{
    for (const int signal_number : {SIGHUP, SIGTERM}) {
        SCOPED_TRACE(signal_number);
        fs::remove_all(scratch_ / "out");
        const test::Program program(arguments());
        waitForOne();
        program.send(signal_number);
        const Ran ran = program.wait();
        EXPECT_EQ(ran.code, 130) << ran.err;
        EXPECT_NE(ran.err.find("stopped. What was measured is kept"), std::string::npos) << ran.err;
        expectGoesOn();
    }
}

TEST_F(SignalsCli, EndsInOrderWhenItsTerminalIsClosed)
{
    const int ours = posix_openpt(O_RDWR | O_NOCTTY);
    ASSERT_TRUE(ours >= 0 && grantpt(ours) == 0 && unlockpt(ours) == 0);
    const std::string theirs = ptsname(ours);
    Words all = arguments();
    all.insert(all.begin(), SLIPGLASS_PROGRAM);
    std::vector<char*> argv;
    for (std::string& word : all) argv.push_back(word.data());
    argv.push_back(nullptr);
    const pid_t pid = fork();
    if (pid == 0) {
        setsid();
        const int terminal = open(theirs.c_str(), O_RDWR);
        ioctl(terminal, TIOCSCTTY, 0);
        close(ours);
        for (const int stream : {0, 1, 2}) dup2(terminal, stream);
        execv(argv[0], argv.data());
        _exit(127);
    }
    waitForOne();
    close(ours);
    int status = 0;
    waitpid(pid, &status, 0);
    ASSERT_TRUE(WIFEXITED(status)) << WTERMSIG(status);
    EXPECT_EQ(WEXITSTATUS(status), 130);
    expectGoesOn();
}

TEST_F(SignalsCli, OutlivesTheTerminalUnderNohup)
{
    const test::Program program(arguments(), std::nullopt, {SIGHUP});
    waitForOne();
    program.send(SIGHUP);
    EXPECT_EQ(program.wait().code, 0);
    EXPECT_EQ(kept(), kPhotos.size());
}

// Before it listens nothing is written that a later run could stumble over.
TEST_F(SignalsCli, AtTheVeryStartLeavesNothingInTheWay)
{
    for (const int signal_number : {SIGHUP, SIGTERM, SIGINT}) {
        const test::Program program(arguments());
        program.send(signal_number);
        EXPECT_NE(program.wait().code, 0);
    }
    const Ran rest = test::run(arguments());
    EXPECT_EQ(rest.code, 0) << rest.err;
    EXPECT_EQ(kept(), kPhotos.size());
}

TEST_F(SignalsCli, MeasuresToTheEndWhenNobodyListens)
{
    for (int i = 0; i < 2; ++i)
        scratch_.write("photos/T0" + std::to_string(i) + "_2026-03-01.jpg", "no picture");
    const Ran piped =
        test::shell("{ " + line() + "; echo $? >'" + (scratch_ / "code").string() + "'; } 2>&1 | true");
    EXPECT_EQ(test::readBytes(scratch_ / "code"), "2\n") << piped.out;
    EXPECT_EQ(kept(), kPhotos.size() + 2);
    fs::remove_all(scratch_ / "out");
    EXPECT_EQ(test::shell(line() + " >&- 2>&- <&-").code, 2);
    EXPECT_EQ(SeasonStore(scratch_ / "out/season.db", SeasonStore::Use::read).observations().size(),
              kPhotos.size());
}

TEST_F(SignalsCli, SaysThatWhatItSaidIsLost)
{
    const Ran full = test::shell("slipglass settings 2>&1 >/dev/full");
    EXPECT_EQ(full.code, 1);
    EXPECT_NE(full.out.find("could not be written"), std::string::npos) << full.out;
    const Ran head = test::shell("slipglass settings 2>&1 | head -n 1");
    EXPECT_EQ(head.out.find('\n'), head.out.size() - 1) << "nothing besides the line wanted: " << head.out;
}

}  // namespace
}  // namespace slipglass
