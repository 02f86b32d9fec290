// What is let in to the handler, and what is not. Truth is by construction: each request is written out here.
#include <malloc.h>

#include <set>

#include "client.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

using test::Answer;
using test::keyIn;
using test::Line;
using test::numbered;
using test::ScratchFolder;
using test::Served;

TEST(Requests, AGetReachesTheHandlerDecoded)
{
    const Served served;
    const Answer answer = served.ask(served.head("GET", "/a%20b/%C3%A4?day=3&tub=T%2001&tub=T02&empty"));
    EXPECT_EQ(200, answer.status);
    EXPECT_EQ("/a b/\u00e4", answer.body);
    ASSERT_EQ(1U, served.asked().size());
    const Request request = served.asked()[0];
    EXPECT_EQ("GET", request.method);
    EXPECT_EQ((std::map<std::string, std::string>{{"day", "3"}, {"tub", "T 01"}, {"empty", ""}}),
              request.query);
    EXPECT_TRUE(request.from_this_computer);
    EXPECT_EQ("", request.body);
    EXPECT_TRUE(request.upload.empty());
}

TEST(Requests, AHeadIsAGetWithoutABody)
{
    const Served served;
    const Answer answer = served.ask(served.head("HEAD", "/page"));
    EXPECT_EQ(200, answer.status);
    EXPECT_EQ("", answer.body);
    EXPECT_EQ("5", answer.headers.at("content-length"));
    ASSERT_EQ(1U, served.asked().size());
    EXPECT_EQ("GET", served.asked()[0].method);
}

TEST(Requests, TheKeyIsLongAndNewAtEachStart)
{
    std::set<std::string> keys;
    for (int start = 0; start < 5; ++start) keys.insert(Served().key);
    EXPECT_EQ(5U, keys.size());
    for (const std::string& key : keys) {
        EXPECT_EQ(32U, key.size());  // of 6 bits each
        EXPECT_EQ(std::string::npos,
                  key.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"));
    }
}

TEST(Requests, WithoutTheKeyNothingIsThere)
{
    const Served served;
    std::string almost = served.key;
    almost.back() = almost.back() == 'A' ? 'B' : 'A';
    const std::string end = " HTTP/1.1\r\nHost: " + served.host() + "\r\nConnection: close\r\n\r\n";
    for (const std::string& target :
         {std::string("/"), std::string("/x"), std::string("/favicon.ico"), "/" + served.key,
          "//" + served.key + "/", "/" + almost + "/", "/" + served.key.substr(1) + "/",
          "/" + served.key + "x/", "/x/" + served.key + "/", "/?" + served.key + "/", std::string("/join/"),
          std::string("/join/x"), std::string("*"), "http://" + served.host() + "/" + served.key + "/",
          "/%" + served.key + "/"}) {
        const Answer answer = served.ask("GET " + target + end);
        EXPECT_EQ(404, answer.status) << target;
        EXPECT_EQ("Not found.\n", answer.body) << target;
    }
    EXPECT_EQ(404, served.ask("DELETE /x/" + end).status);
    EXPECT_TRUE(served.asked().empty());
}

TEST(Requests, AHostThatIsNotThisServersIsRefused)
{
    const Served served;
    const std::string port = std::to_string(served.server.port());
    const auto ask = [&](const std::string& hosts) {
        return served.ask("GET /" + served.key + "/ HTTP/1.1\r\nConnection: close\r\n" + hosts + "\r\n");
    };
    EXPECT_EQ(200, ask("Host: localhost:" + port + "\r\n").status);
    EXPECT_EQ(200, ask("Host: LocalHost:" + port + "\r\n").status);
    const std::size_t before = served.asked().size();
    for (const std::string& host :
         {std::string("elsewhere.example:") + port, std::string("127.0.0.1"), std::string("localhost"),
          std::string("127.0.0.1:1"), "127.0.0.2:" + port, "localhost.:" + port, "127.0.0.1:" + port + "0",
          "0.0.0.0:" + port, "[::1]:" + port, "a@127.0.0.1:" + port,
          "127.0.0.1:" + port + ".elsewhere.example", std::string()}) {
        const Answer answer = ask("Host: " + host + "\r\n");
        EXPECT_EQ(421, answer.status) << host;
        EXPECT_EQ(std::string::npos, answer.all.find("elsewhere")) << host;
    }
    const Answer twice = ask("Host: " + served.host() + "\r\nHost: " + served.host() + "\r\n");
    EXPECT_TRUE(twice.status == 421 || twice.status == 400) << twice.status;
    EXPECT_EQ(400, ask("").status);
    EXPECT_EQ(before, served.asked().size());
}

TEST(Requests, OnlyOwnPagesMaySend)
{
    const Served served;
    const auto send = [&](const std::string& method, const std::string& origins) {
        return served
            .ask(served.head(method, "/",
                             origins + "Content-Type: application/json\r\nContent-Length: 2\r\n") +
                 "{}")
            .status;
    };
    for (const std::string method : {"POST", "PUT"}) {
        EXPECT_EQ(200, send(method, "Origin: http://" + served.host() + "\r\n"));
        const std::size_t before = served.asked().size();
        for (const std::string& origin :
             {std::string(), std::string("Origin: null\r\n"), std::string("Origin: \r\n"),
              std::string("Origin: http://elsewhere.example\r\n"),
              std::string("Origin: http://127.0.0.1\r\n"), std::string("Origin: http://127.0.0.1:1\r\n"),
              "Origin: https://" + served.host() + "\r\n", "Origin: http://" + served.host() + "/\r\n",
              "Origin: http://" + served.host() + ".example\r\n",
              "Origin: http://localhost:" + std::to_string(served.server.port()) + "\r\n",
              "Origin: http://" + served.host() + "\r\nOrigin: http://elsewhere.example\r\n"})
            EXPECT_EQ(403, send(method, origin)) << method << " " << origin;
        EXPECT_EQ(before, served.asked().size());
    }
}

TEST(Requests, AFormCannotSend)
{
    const Served served;
    for (const std::string type :
         {"application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain",
          "TEXT/Plain;charset=utf-8", "text/plain , application/json", ""}) {
        const std::string header =
            std::string(type).empty() ? "" : "Content-Type: " + std::string(type) + "\r\n";
        EXPECT_EQ(415, served.ask(served.sending("POST", "/", "a=b", header)).status) << type;
    }
    EXPECT_EQ(415, served
                       .ask(served.sending("POST", "/", "a=b",
                                           "Content-Type: application/json\r\nContent-Type: text/plain\r\n"))
                       .status);
    EXPECT_TRUE(served.asked().empty());
    EXPECT_EQ(200, served.ask(served.sending("POST", "/", "{}")).status);
}

TEST(Requests, AMethodThatNobodyHandlesIsRefused)
{
    const Served served;
    for (const std::string method : {"DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "get", "PROPFIND"}) {
        const Answer answer = served.ask(served.head(method, "/"));
        EXPECT_EQ(405, answer.status) << method;
        EXPECT_EQ("GET, HEAD, POST, PUT", answer.headers.at("allow"));
        EXPECT_EQ(0U, answer.headers.count("access-control-allow-origin"));
    }
    EXPECT_TRUE(served.asked().empty());
}

TEST(Requests, AHandlersOwn405Arrives)
{
    Served served;
    served.answers = [](const Request&) {
        Response response;
        response.status = 405;
        return response;
    };
    EXPECT_EQ(405, served.ask(served.sending("PUT", "/page", "x")).status);
}

TEST(Requests, AHostilePathDoesNotReachTheHandler)
{
    const Served served;
    for (const std::string path :
         {"/..",         "/../x",      "/a/../b",       "/./a",       "/a/.",  "/%2e%2e/x",
          "/%2E%2E%2Fx", "/..%2fx",    "/a%2f..%2fb",   "/a//b",      "//",    "/a%2f%2fb",
          "/a\\b",       "/a%5cb",     "/..%5cx",       "/a%00b",     "/%00",  "/a%0ab",
          "/a%0d%0aX:y", "/a%1b[2J",   "/a%7f",         "/a%c2%9b2J", "/%ff",  "/%c0%ae%c0%ae/x",
          "/%c0%af",     "/%ed%a0%80", "/%f4%90%80%80", "/a%c3",      "/\xff", "/?a=%00",
          "/?a=%ff",     "/?%0a=b",    "/?a=b%1b"}) {
        const Answer answer = served.ask(served.head("GET", path));
        EXPECT_EQ(400, answer.status) << path;
        EXPECT_EQ(std::string::npos, answer.all.find('\x1b'));
        EXPECT_EQ(std::string::npos, answer.all.find("X:y"));
    }
    EXPECT_EQ(400, served.ask(served.head("GET", "/" + std::string(1100, 'a'))).status);
    EXPECT_TRUE(served.asked().empty());
}

// The library ends a line's path at such a byte, as if no more had been sent.
TEST(Requests, ANulByteIsTheEndAndReachesNoHandler)
{
    const Served served;
    const std::string nul(1, '\0');
    EXPECT_EQ("/a", served.ask(served.head("GET", "/a" + nul + "/../b")).body);
    served.ask(served.head("GET", "/a?b=c" + nul + "d"));
    ASSERT_EQ(2U, served.asked().size());
    EXPECT_EQ((std::map<std::string, std::string>{{"b", "c"}}), served.asked()[1].query);
    EXPECT_EQ(404, served.ask(served.head("GET", nul + "/a")).status);
}

TEST(Requests, APathIsDecodedOnce)
{
    const Served served;
    EXPECT_EQ("/%2e%2e/x", served.ask(served.head("GET", "/%252e%252e/x")).body);
    EXPECT_EQ("/..a/b..", served.ask(served.head("GET", "/..a/b..")).body);
}

TEST(Requests, ABodyOfAGetIsRefused)
{
    const Served served;
    EXPECT_EQ(400, served.ask(served.head("GET", "/", "Content-Length: 3\r\n") + "abc").status);
    EXPECT_EQ(400,
              served.ask(served.head("GET", "/", "Transfer-Encoding: chunked\r\n") + "0\r\n\r\n").status);
    EXPECT_TRUE(served.asked().empty());
}

TEST(Requests, GarbageIsAnsweredOrCutOffAndTheServerGoesOn)
{
    const Served served;
    const std::string get = "GET /" + served.key + "/ HTTP/1.1\r\n", host = "Host: " + served.host() + "\r\n";
    for (const std::string& bytes :
         {std::string("\r\n\r\n\r\n\r\n"),
          std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 15), std::string(100000, 'A'),
          "GET " + std::string(100000, '/') + " HTTP/1.1\r\n\r\n",
          get + host + "X: " + std::string(100000, 'x') + "\r\n\r\n", std::string("GET\r\n\r\n"),
          std::string("GET  HTTP/1.1\r\n\r\n"), "GET /" + served.key + "/ HTTP/9.9\r\n" + host + "\r\n",
          "GET /" + served.key + "/ x HTTP/1.1\r\n" + host + "\r\n", get + host + "no colon\r\n\r\n",
          get + "Host : " + served.host() + "\r\n\r\n", std::string(5000, '\0')}) {
        Line line(served.server.port());
        line.send(bytes);
        shutdown(line.socket(), SHUT_WR);
        const Answer answer = test::answerIn(line.rest());
        EXPECT_NE(200, answer.status) << bytes.substr(0, 60);
        EXPECT_EQ(std::string::npos, answer.all.find("AAAA"));
        EXPECT_EQ(std::string::npos, answer.all.find("xxxx"));
    }
    std::string many = get + host;
    for (int i = 0; i < 5000; ++i) many += numbered("X", i) + ": y\r\n";
    EXPECT_NE(200, served.ask(many + "\r\n").status);
    EXPECT_TRUE(served.asked().empty());
    EXPECT_EQ(200, served.ask(served.head("GET", "/")).status);
}

// The library says nothing of the end of such a request; each was kept for good.
TEST(Requests, OneWithAQueryThatThereIsNoRoomForIsNotKept)
{
    const Served served;
    std::string target = "/?";
    for (int i = 0; i < 600; ++i) target += "&a";
    const std::string bytes = served.head("GET", target);
    const auto askedFor = [&](int times) {
        for (int i = 0; i < times; ++i) served.ask(bytes);
        return mallinfo2().uordblks;  // of all threads; with sanitizers, LeakSanitizer tells
    };
    const std::size_t before = askedFor(300), after = askedFor(3000);
    EXPECT_TRUE(served.asked().empty());
    EXPECT_LT(after, before + std::size_t{3000} * 150) << "what a request takes is 592 bytes";
    EXPECT_EQ(200, served.ask(served.head("GET", "/?a")).status);
}

TEST(Requests, OneConnectionCanAskSeveralTimes)
{
    const Served served;
    Line line(served.server.port());
    const std::string host = " HTTP/1.1\r\nHost: " + served.host() + "\r\n";
    line.send("GET /" + served.key + "/one" + host + "\r\nGET /" + served.key + "/two" + host +
              "Connection: close\r\n\r\n");
    const std::string all = line.rest();
    EXPECT_NE(std::string::npos, all.find("/one"));
    EXPECT_NE(std::string::npos, all.find("/two"));
    EXPECT_EQ(2U, served.asked().size());
}

TEST(Requests, APortThatCannotBeHadIsAnError)
{
    const Served served;
    const ScratchFolder scratch;
    const auto none = [](const Request&) { return Response(); };
    EXPECT_THROW(Server({served.server.port(), false, scratch.path()}, {}, none), Error);
    for (const int port : {-1, 80, 1023, 65536})
        EXPECT_THROW(Server({port, false, scratch.path()}, {}, none), Error);
}

// Every address that begins with 127 is this computer's, but one server listens at 127.0.0.1 alone.
TEST(Requests, OnlyTheAddressOfThisComputerIsServedUnlessTheNetworkIsToo)
{
    const Served alone, open({}, true);
    EXPECT_FALSE(Line(alone.server.port(), "127.0.0.2").open());
    EXPECT_TRUE(Line(open.server.port(), "127.0.0.2").open());
}

TEST(Requests, AfterStopNothingIsServed)
{
    Served served;
    served.server.stop();
    served.server.stop();
    EXPECT_FALSE(Line(served.server.port()).open());
}

}  // namespace
}  // namespace slipglass
