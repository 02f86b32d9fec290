// Who comes by an invitation. This computer plays the device too, by its own address in the local network.
#include "client.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

using test::Answer;
using test::answerIn;
using test::Line;
using test::Served;

/// "192.0.2.7:4711" and "/join/CODE" of an invitation. Empty where this computer is in no network.
struct Invitation {
    std::string host, address, path;
    bool there() const { return !host.empty(); }
};
Invitation invitationOf(Served& served)
{
    try {
        const std::string url = served.server.invitation();
        EXPECT_EQ(0U, url.find("http://"));
        const std::size_t slash = url.find('/', 7);
        const std::string host = url.substr(7, slash - 7);
        return {host, host.substr(0, host.find(':')), url.substr(slash)};
    } catch (const Error&) {
        return {};
    }
}

Answer get(const Served& served, const Invitation& via, const std::string& path,
           const std::string& method = "GET", const std::string& more = "")
{
    return served.ask(
        method + " " + path + " HTTP/1.1\r\nConnection: close\r\nHost: " + via.host + "\r\n" + more + "\r\n",
        via.address);
}

#define INVITED(name, served)                     \
    const Invitation name = invitationOf(served); \
    if (!name.there()) GTEST_SKIP() << "this computer is in no local network"

TEST(Invitations, LetOneDeviceInOnce)
{
    Served served({}, true);
    INVITED(invited, served);
    EXPECT_EQ(0U, invited.path.find("/join/"));
    EXPECT_EQ(12U, invited.path.size() - 6);
    const Answer in = get(served, invited, invited.path);
    EXPECT_EQ(303, in.status);
    EXPECT_EQ(0U, in.headers.count("set-cookie"));
    EXPECT_EQ("no-store", in.headers.at("cache-control"));
    const std::string home = in.headers.at("location");
    EXPECT_EQ(34U, home.size());
    EXPECT_NE("/" + served.key + "/", home);
    EXPECT_EQ(200, get(served, invited, home).status);
    EXPECT_EQ(200, get(served, invited, home + "again").status);
    ASSERT_EQ(2U, served.asked().size());
    EXPECT_FALSE(served.asked()[0].from_this_computer);
    EXPECT_EQ("/again", served.asked()[1].path);
    EXPECT_EQ(404, get(served, invited, invited.path).status);
    // It sends as this computer's own pages do.
    const std::string photo = "Content-Length: 0\r\nOrigin: http://";
    EXPECT_EQ(200, get(served, invited, home + "photo", "PUT", photo + invited.host + "\r\n").status);
    EXPECT_EQ(403, get(served, invited, home + "photo", "PUT", photo + "elsewhere.example\r\n").status);
}

TEST(Invitations, EachIsAnotherAndEachDeviceHasItsOwnKey)
{
    Served served({}, true);
    INVITED(first, served);
    INVITED(second, served);
    EXPECT_NE(first.path, second.path);
    const std::string one = get(served, first, first.path).headers.at("location");
    const std::string two = get(served, second, second.path).headers.at("location");
    EXPECT_NE(one, two);
    EXPECT_EQ(200, get(served, first, one).status);
    EXPECT_EQ(200, get(served, first, two).status);
}

TEST(Invitations, OnlyTheLastEightHold)
{
    Served served({}, true);
    INVITED(first, served);
    for (int i = 0; i < 7; ++i) invitationOf(served);
    const Invitation ninth = invitationOf(served);
    EXPECT_EQ(404, get(served, first, first.path).status);
    EXPECT_EQ(303, get(served, ninth, ninth.path).status);
}

TEST(Invitations, DieWithTime)
{
    ServerLimits limits;
    limits.invitation_s = 1;
    Served served(limits, true);
    INVITED(invited, served);
    std::this_thread::sleep_for(std::chrono::milliseconds(1100));
    EXPECT_EQ(404, get(served, invited, invited.path).status);
}

TEST(Invitations, AreNotUsedUpByALookAhead)
{
    Served served({}, true);
    INVITED(invited, served);
    EXPECT_EQ(404, get(served, invited, invited.path, "HEAD").status);
    EXPECT_EQ(404, get(served, invited, invited.path, "OPTIONS").status);
    EXPECT_EQ(303, get(served, invited, invited.path).status);
}

TEST(Invitations, CannotBeGuessedAtWill)
{
    ServerLimits limits;
    limits.wrong_codes_per_minute = 3;
    Served served(limits, true);
    INVITED(invited, served);
    for (const std::string wrong : {"/join/", "/join/abcdefghijkm", "/join/x/y"})
        EXPECT_EQ(404, get(served, invited, wrong).status) << wrong;
    EXPECT_EQ(429, get(served, invited, "/join/abcdefghijkm").status);
    EXPECT_EQ(429, get(served, invited, invited.path).status);
    EXPECT_TRUE(served.asked().empty());
}

TEST(Invitations, ThisComputersKeyIsNoUseElsewhere)
{
    Served served({}, true);
    INVITED(invited, served);
    EXPECT_EQ(404, get(served, invited, "/" + served.key + "/").status);
    EXPECT_TRUE(served.asked().empty());
    EXPECT_EQ(200, served.ask(served.head("GET", "/")).status);
    EXPECT_TRUE(served.asked()[0].from_this_computer);
}

TEST(Invitations, FromTheNetworkTheHostIsTheAddressAlone)
{
    Served served({}, true);
    INVITED(invited, served);
    const std::string home = get(served, invited, invited.path).headers.at("location");
    const std::string port = invited.host.substr(invited.host.find(':'));
    for (const std::string& host : {"localhost" + port, "127.0.0.1" + port, "elsewhere.example" + port})
        EXPECT_EQ(421,
                  served
                      .ask("GET " + home + " HTTP/1.1\r\nConnection: close\r\nHost: " + host + "\r\n\r\n",
                           invited.address)
                      .status)
            << host;
}

TEST(Invitations, DieWithTheServer)
{
    Served first({}, true);
    INVITED(invited, first);
    const std::string home = get(first, invited, invited.path).headers.at("location");
    Served second({}, true);
    INVITED(other, second);
    EXPECT_EQ(404, get(second, other, home).status);
}

TEST(Invitations, WithoutTheLocalNetworkThereAreNone)
{
    Served open({}, true);
    Served served;
    EXPECT_THROW(served.server.invitation(), std::logic_error);
    INVITED(invited, open);
    EXPECT_TRUE(Line(open.server.port(), invited.address).open());
    EXPECT_FALSE(Line(served.server.port(), invited.address).open());
}

}  // namespace
}  // namespace slipglass
