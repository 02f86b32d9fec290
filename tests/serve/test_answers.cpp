// What goes out with each answer.
#include <stdexcept>

#include "client.h"

namespace slipglass {
namespace {

using test::Answer;
using test::Served;

void expectSafe(const Answer& answer)
{
    EXPECT_EQ("nosniff", answer.headers.at("x-content-type-options"));
    EXPECT_EQ("no-referrer", answer.headers.at("referrer-policy"));
    EXPECT_EQ("same-origin", answer.headers.at("cross-origin-resource-policy"));
    EXPECT_EQ("DENY", answer.headers.at("x-frame-options"));
    EXPECT_EQ(0U, answer.headers.count("set-cookie"));
}

TEST(Answers, EachHasTheHeadersThatKeepAPageSafe)
{
    const Served served;
    const std::string not_here = "GET / HTTP/1.1\r\nConnection: close\r\nHost: ";
    for (const std::string& request :
         {served.head("GET", "/"), served.head("GET", "/a//b"), served.head("PATCH", "/"),
          served.head("POST", "/"), not_here + served.host() + "\r\n\r\n",
          not_here + "elsewhere.example\r\n\r\n"}) {
        const Answer answer = served.ask(request);
        ASSERT_NE(0, answer.status);
        expectSafe(answer);
        EXPECT_EQ("default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
                  answer.headers.at("content-security-policy"));
        EXPECT_EQ("no-store", answer.headers.at("cache-control"));
        EXPECT_EQ("text/plain; charset=utf-8", answer.headers.at("content-type"));
    }
}

TEST(Answers, AHandlerGivesItsOwnContentRuleAndCacheAndNoMore)
{
    Served served;
    served.answers = [](const Request&) {
        Response response;
        response.status = 201;
        response.type = "text/html; charset=utf-8";
        response.headers = {{"Content-Security-Policy", "default-src 'self'"},
                            {"cache-control", "max-age=60"},
                            {"X-Frame-Options", "ALLOW"},
                            {"Referrer-Policy", "unsafe-url"},
                            {"X-Own", "yes"}};
        return response;
    };
    const Answer answer = served.ask(served.head("GET", "/"));
    EXPECT_EQ(201, answer.status);
    expectSafe(answer);
    EXPECT_EQ("default-src 'self'", answer.headers.at("content-security-policy"));
    EXPECT_EQ("max-age=60", answer.headers.at("cache-control"));
    EXPECT_EQ("text/html; charset=utf-8", answer.headers.at("content-type"));
    EXPECT_EQ("yes", answer.headers.at("x-own"));
    EXPECT_EQ(answer.all.find("Frame"), answer.all.rfind("Frame"));
}

TEST(Answers, AFileIsSentWhole)
{
    Served served;
    const std::string bytes = std::string(3'000'000, 'x') + std::string("\0\n", 2);
    const auto file = served.scratch.write("picture.jpg", bytes);
    served.answers = [&](const Request& request) {
        Response response;
        response.type = "image/jpeg";
        response.file = request.path == "/there" ? file
                        : request.path == "/dir" ? served.scratch.path()
                                                 : served.scratch / "none";
        return response;
    };
    const Answer answer = served.ask(served.head("GET", "/there"));
    EXPECT_EQ(200, answer.status);
    EXPECT_EQ("image/jpeg", answer.headers.at("content-type"));
    EXPECT_TRUE(answer.body == bytes);
    expectSafe(answer);
    EXPECT_EQ(404, served.ask(served.head("GET", "/none")).status);
    EXPECT_EQ(404, served.ask(served.head("GET", "/dir")).status);
}

TEST(Answers, WhatAHandlerThrowsIsA500WithoutAWordOfWhy)
{
    Served served;
    served.answers = [](const Request& request) -> Response {
        if (request.path == "/odd") throw 7;
        if (request.path == "/split") {
            Response response;
            response.headers["X-Own"] = "a\r\nSet-Cookie: b";
            return response;
        }
        throw std::runtime_error("the secret of " + request.path);
    };
    for (const std::string path : {"/x", "/odd", "/split"}) {
        const Answer answer = served.ask(served.head("GET", path));
        EXPECT_EQ(500, answer.status) << path;
        EXPECT_EQ("Something went wrong on the computer that serves this.\n", answer.body);
        expectSafe(answer);
    }
    served.answers = nullptr;
    EXPECT_EQ(200, served.ask(served.head("GET", "/x")).status);
}

TEST(Answers, NothingThatWasSentComesBackInARefusal)
{
    const Served served;
    const std::string end = " HTTP/1.1\r\nConnection: close\r\nHost: " + served.host() + "\r\n";
    for (const std::string& request :
         {"GET /<script>alert(1)</script>" + end + "\r\n", "GET /x?<script>" + end + "X: <script>\r\n\r\n",
          "GET /" + served.key + "/<script>//" + end + "\r\n", "<script> /" + served.key + "/" + end + "\r\n",
          served.head("POST", "/", "Origin: <script>\r\n"),
          std::string("GET / HTTP/1.1\r\nConnection: close\r\nHost: <script>\x1b[2J\r\n\r\n")}) {
        const Answer answer = served.ask(request);
        EXPECT_GE(answer.status, 400) << request;
        EXPECT_EQ(std::string::npos, answer.all.find("script")) << request;
        EXPECT_EQ(std::string::npos, answer.all.find('\x1b')) << request;
    }
}

}  // namespace
}  // namespace slipglass
