// Many at once, and the slow.
#include <atomic>
#include <future>

#include "client.h"

namespace slipglass {
namespace {

using test::Answer;
using test::answerIn;
using test::comesTrue;
using test::Line;
using test::numbered;
using test::Served;
using Clock = std::chrono::steady_clock;

double secondsSince(Clock::time_point start)
{
    return std::chrono::duration<double>(Clock::now() - start).count();
}

ServerLimits impatient()
{
    ServerLimits limits;
    limits.idle_s = 1;
    return limits;
}

// Bounds of times: a second is what the server gives, two more are for a busy machine.
constexpr double kAtLeast = 0.9, kAtMost = 3;

TEST(Slow, WhoSaysNothingIsCutOff)
{
    const Served served(impatient());
    Line line(served.server.port());
    const auto start = Clock::now();
    EXPECT_EQ("", line.rest());
    EXPECT_GT(secondsSince(start), kAtLeast);
    EXPECT_LT(secondsSince(start), kAtMost);
}

/// Sends a piece each 50 ms until the other end has had enough. @return  the seconds that took
double trickle(Line& line, const std::string& piece)
{
    const auto start = Clock::now();
    while (line.send(piece) && secondsSince(start) < 8)
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    return secondsSince(start);
}

TEST(Slow, AHeadThatTricklesIsCutOff)
{
    const Served served(impatient());
    Line line(served.server.port());
    line.send("GET /" + served.key + "/ HTTP/1.1\r\nHost: " + served.host() + "\r\nX: ");
    const double took = trickle(line, "x");
    EXPECT_GT(took, kAtLeast);
    EXPECT_LT(took, kAtMost);
    EXPECT_TRUE(served.asked().empty());
}

TEST(Slow, ABodyThatTricklesIsCutOffAndItsFileGone)
{
    const Served served(impatient());
    Line line(served.server.port());
    const std::string all = served.sending("PUT", "/x", std::string(1'000'000, 'x'), "");
    line.send(all.substr(0, all.size() - 1'000'000));
    EXPECT_TRUE(comesTrue([&] { return served.filesLeft() == 1; }));
    const double took = trickle(line, "xx");
    EXPECT_GT(took, kAtLeast);
    EXPECT_LT(took, kAtMost);
    EXPECT_TRUE(comesTrue([&] { return served.filesLeft() == 0; }));
    EXPECT_TRUE(served.asked().empty());
}

TEST(Slow, ABodyThatComesFastEnoughMayTakeLong)
{
    ServerLimits limits = impatient();
    limits.slowest_bytes_per_s = 10'000;
    const Served served(limits);
    Line line(served.server.port());
    const std::string all = served.sending("PUT", "/x", std::string(100'000, 'x'), "");
    const std::size_t head = all.size() - 100'000;
    line.send(all.substr(0, head));
    for (int piece = 0; piece < 10; ++piece) {
        std::this_thread::sleep_for(std::chrono::milliseconds(200));
        line.send(std::string(10'000, 'x'));
    }
    EXPECT_EQ(200, answerIn(line.rest()).status);
}

TEST(Slow, WhoDoesNotReadIsCutOff)
{
    ServerLimits limits = impatient();
    limits.slowest_bytes_per_s = 50'000'000;
    Served served(limits);
    const std::string large(30'000'000, 'x');
    served.answers = [&](const Request&) {
        Response response;
        response.body = large;
        return response;
    };
    Line line(served.server.port());
    line.send(served.head("GET", "/"));
    std::this_thread::sleep_for(std::chrono::milliseconds(2500));
    EXPECT_LT(line.rest().size(), large.size());
}

TEST(Slow, AHandlerMayTakeItsTime)
{
    Served served(impatient());
    served.answers = [](const Request&) {
        std::this_thread::sleep_for(std::chrono::milliseconds(1500));
        return Response();
    };
    EXPECT_EQ(200, served.ask(served.head("GET", "/")).status);
}

TEST(Crowds, ThoseOverTheLimitOfAnAddressAreRefusedAndOthersAnswered)
{
    ServerLimits limits;
    limits.connections_per_address = 5;
    const Served served(limits);
    std::vector<Line> held;
    for (int i = 0; i < 5; ++i) held.emplace_back(served.server.port());
    EXPECT_EQ(0, served.ask(served.head("GET", "/")).status);
    Line other(served.server.port(), "127.0.0.1", "127.0.0.2");
    other.send(served.head("GET", "/"));
    EXPECT_EQ(200, answerIn(other.rest()).status);
    held.clear();
    EXPECT_TRUE(comesTrue([&] { return served.ask(served.head("GET", "/")).status == 200; }));
}

TEST(Crowds, TwoHundredThatHoldOnDoNotKeepTheServerFromOthers)
{
    const Served served(impatient());
    std::vector<Line> held;
    for (int i = 0; i < 200; ++i) {
        held.emplace_back(served.server.port(), "127.0.0.1", numbered("127.0.0.", 10 + i % 20));
        held.back().send("GET /");
    }
    // 64 of them have a place for a second; then it is others' turn.
    const auto start = Clock::now();
    EXPECT_TRUE(comesTrue([&] { return served.ask(served.head("GET", "/")).status == 200; }));
    EXPECT_LT(secondsSince(start), 8);
}

TEST(Crowds, TwoHundredThatAskAreAnsweredOrCutOff)
{
    ServerLimits limits;
    limits.connections_per_address = 64;
    const Served served(limits);
    std::vector<std::future<int>> asked;
    for (int i = 0; i < 200; ++i)
        asked.push_back(std::async(std::launch::async, [&served, i] {
            Line line(served.server.port(), "127.0.0.1", numbered("127.0.0.", 10 + i % 20));
            line.send(served.head("GET", numbered("/", i)));
            const Answer answer = answerIn(line.rest());
            return answer.status == 0 || answer.body == numbered("/", i) ? answer.status : -1;
        }));
    std::map<int, int> answers;
    for (auto& one : asked) ++answers[one.get()];
    // Nobody is cut off but while as many as may be are being answered.
    EXPECT_GE(answers[200], 64);
    EXPECT_EQ(200, answers[200] + answers[0]);
    EXPECT_TRUE(comesTrue([&] { return served.ask(served.head("GET", "/")).status == 200; }));
}

TEST(Crowds, HandlersRunAtOnceUpToTheirLimit)
{
    ServerLimits limits;
    limits.handlers = 3;
    Served served(limits);
    std::atomic<int> now = 0, most = 0;
    served.answers = [&](const Request&) {
        int seen = most;
        const int here = ++now;
        while (here > seen && !most.compare_exchange_weak(seen, here)) continue;
        std::this_thread::sleep_for(std::chrono::milliseconds(150));
        --now;
        return Response();
    };
    std::vector<std::future<int>> asked;
    for (int i = 0; i < 9; ++i)
        asked.push_back(
            std::async(std::launch::async, [&] { return served.ask(served.head("GET", "/")).status; }));
    for (auto& one : asked) EXPECT_EQ(200, one.get());
    EXPECT_EQ(3, most);
}

TEST(Crowds, StopWaitsForTheHandlersThatRun)
{
    Served served;
    std::atomic<bool> began = false, ended = false;
    served.answers = [&](const Request&) {
        began = true;
        std::this_thread::sleep_for(std::chrono::milliseconds(300));
        ended = true;
        return Response();
    };
    auto asked = std::async(std::launch::async, [&] { return served.ask(served.head("GET", "/")).status; });
    EXPECT_TRUE(comesTrue([&] { return began.load(); }));
    served.server.stop();
    EXPECT_TRUE(ended);
    asked.get();
}

}  // namespace
}  // namespace slipglass
