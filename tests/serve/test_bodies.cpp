// What is sent to the server: small bodies, and files.
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <csignal>
#include <fstream>

#include "client.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::Answer;
using test::comesTrue;
using test::Line;
using test::readBytes;
using test::ScratchFolder;
using test::Served;

/// Bytes of every value, none where the one before it would be.
std::string picture(std::size_t size)
{
    std::string bytes(size, '\0');
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<char>((i * 31 + i / 256) & 0xff);
    return bytes;
}

TEST(Bodies, APostsBodyArrives)
{
    const Served served;
    const std::string body = R"({"a": "b"})" + std::string(1, '\0') + "\xff";
    EXPECT_EQ(200, served.ask(served.sending("POST", "/corrections", body)).status);
    ASSERT_EQ(1U, served.asked().size());
    EXPECT_EQ("POST", served.asked()[0].method);
    EXPECT_EQ(body, served.asked()[0].body);
    EXPECT_TRUE(served.asked()[0].upload.empty());
}

TEST(Bodies, APutsBodyIsAFileThatIsGoneAfterwards)
{
    const Served served;
    const std::string bytes = picture(5'000'000);
    EXPECT_EQ(200, served.ask(served.sending("PUT", "/photos/T01.jpg", bytes, "")).status);
    ASSERT_EQ(1U, served.asked().size());
    const Request request = served.asked()[0];
    EXPECT_EQ("/photos/T01.jpg", request.path);
    EXPECT_EQ(bytes.size(), request.upload_bytes);
    EXPECT_EQ("", request.body);
    EXPECT_TRUE(served.upload() == bytes);
    EXPECT_EQ(served.scratch / "uploads", request.upload.parent_path());
    EXPECT_EQ(0U, served.filesLeft());
    // A body of nothing is a file of nothing.
    EXPECT_EQ(200, served.ask(served.sending("PUT", "/empty", "", "")).status);
    EXPECT_FALSE(served.asked()[1].upload.empty());
    EXPECT_EQ(0U, served.asked()[1].upload_bytes);
    EXPECT_EQ(0U, served.filesLeft());
}

TEST(Bodies, AnUploadThatTheHandlerMovesStays)
{
    Served served;
    const std::string bytes = picture(100'000);
    served.answers = [&](const Request& request) {
        fs::rename(request.upload, served.scratch / "T01 2026-03-01.jpg");
        return Response();
    };
    EXPECT_EQ(200, served.ask(served.sending("PUT", "/x", bytes, "")).status);
    EXPECT_TRUE(readBytes(served.scratch / "T01 2026-03-01.jpg") == bytes);
    EXPECT_EQ(0U, served.filesLeft());
}

TEST(Bodies, AnUploadIsRemovedWhenTheHandlerThrows)
{
    Served served;
    served.answers = [](const Request&) -> Response { throw std::runtime_error("no"); };
    EXPECT_EQ(500, served.ask(served.sending("PUT", "/x", "abc", "")).status);
    EXPECT_EQ(0U, served.filesLeft());
}

TEST(Bodies, WhatIsTooLargeIsRefusedBeforeItIsSent)
{
    ServerLimits limits;
    limits.body_bytes = 100;
    limits.upload_bytes = 1000;
    const Served served(limits);
    EXPECT_EQ(200, served.ask(served.sending("POST", "/", std::string(100, 'x'))).status);
    EXPECT_EQ(413, served.ask(served.sending("POST", "/", std::string(101, 'x'))).status);
    EXPECT_EQ(200, served.ask(served.sending("PUT", "/", std::string(1000, 'x'))).status);
    EXPECT_EQ(413, served.ask(served.sending("PUT", "/", std::string(1001, 'x'))).status);
    EXPECT_EQ(413, served.ask(served.sending("PUT", "/", picture(3'000'000))).status);
    // Asked whether it may, it says no.
    const std::string origin = "Origin: http://" + served.host() + "\r\nContent-Type: image/jpeg\r\n";
    EXPECT_EQ(413,
              served.ask(served.head("PUT", "/", origin + "Content-Length: 2000\r\nExpect: 100-continue\r\n"))
                  .status);
    EXPECT_EQ(2U, served.asked().size());
    EXPECT_EQ(0U, served.filesLeft());
}

TEST(Bodies, ALengthMustBeToldOnceAndAsANumber)
{
    const Served served;
    const std::string start = "Origin: http://" + served.host() + "\r\nContent-Type: application/json\r\n";
    for (const std::string& lengths :
         {std::string(), std::string("Transfer-Encoding: chunked\r\n"),
          std::string("Transfer-Encoding: chunked\r\nContent-Length: 7\r\n"),
          std::string("Content-Length: 7\r\nContent-Length: 7\r\n"),
          std::string("Content-Length: 7\r\nContent-Length: 8\r\n"), std::string("Content-Length: x\r\n"),
          std::string("Content-Length: -1\r\n"), std::string("Content-Length: +7\r\n"),
          std::string("Content-Length: 7, 7\r\n"), std::string("Content-Length: 0x7\r\n"),
          std::string("Content-Length: 99999999999999999999999999\r\n"), std::string("Content-Length:\r\n"),
          std::string("Content-Length: 18446744073709551616\r\n"),
          std::string("Content-Length: 18446744073709551614\r\n")})
        for (const std::string method : {"POST", "PUT"}) {
            const Answer answer =
                served.ask(served.head(method, "/", start + lengths) + "2\r\n{}\r\n0\r\n\r\n");
            EXPECT_GE(answer.status, 400) << method << " " << lengths;
            EXPECT_LT(answer.status, 500) << method << " " << lengths;
        }
    EXPECT_TRUE(served.asked().empty());
    EXPECT_EQ(0U, served.filesLeft());
}

TEST(Bodies, AnUploadThatBreaksOffLeavesNothingAndReachesNobody)
{
    const Served served;
    {
        Line line(served.server.port());
        const std::string all = served.sending("PUT", "/x", picture(500'000), "");
        line.send(all.substr(0, all.size() / 2));
        EXPECT_TRUE(comesTrue([&] { return served.filesLeft() == 1; }));
    }
    EXPECT_TRUE(comesTrue([&] { return served.filesLeft() == 0; }));
    EXPECT_TRUE(served.asked().empty());
}

TEST(Bodies, WhenTheServerStopsAHalfUploadIsDropped)
{
    Served served;
    Line line(served.server.port());
    const std::string all = served.sending("PUT", "/x", picture(500'000), "");
    line.send(all.substr(0, all.size() / 2));
    EXPECT_TRUE(comesTrue([&] { return served.filesLeft() == 1; }));
    served.server.stop();
    EXPECT_EQ(0U, served.filesLeft());
    EXPECT_TRUE(served.asked().empty());
}

/// A process of its own that serves until it is killed, its address told through a pipe.
class ServingChild {
public:
    explicit ServingChild(const fs::path& uploads)
    {
        int ends[2];
        if (pipe(ends) != 0) throw std::runtime_error("no pipe");
        pid_ = fork();
        if (pid_ == 0) {
            close(ends[0]);
            const Server server({0, false, uploads}, {}, [](const Request&) { return Response(); });
            const std::string address = server.address();
            if (write(ends[1], address.data(), address.size()) < 0) _exit(1);
            close(ends[1]);
            for (;;) pause();
        }
        close(ends[1]);
        char some[200];
        for (ssize_t got; (got = read(ends[0], some, sizeof some)) > 0;)
            address_.append(some, static_cast<std::size_t>(got));
        close(ends[0]);
    }
    ~ServingChild() { end(); }
    ServingChild(const ServingChild&) = delete;
    ServingChild& operator=(const ServingChild&) = delete;
    void end()
    {
        if (pid_ > 0) {
            kill(pid_, SIGKILL);
            waitpid(pid_, nullptr, 0);
        }
        pid_ = 0;
    }
    const std::string& address() const { return address_; }

private:
    pid_t pid_ = 0;
    std::string address_;
};

std::vector<fs::path> filesIn(const fs::path& folder)
{
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        if (!entry.is_directory()) files.push_back(entry.path());
    return files;
}

TEST(Bodies, WhatAKilledServerLeavesTheNextStartRemoves)
{
    const ScratchFolder season;
    season.write("plan.csv", "kept");
    season.write(".uploads/mine.txt", "kept");
    season.write(".uploads/upload-mine.jpg", "kept");
    season.write(".uploads/mine.part", "kept");
    ServingChild child(season / ".uploads");
    ASSERT_NE("", child.address());
    const std::string key = test::keyIn(child.address());
    const std::string host = child.address().substr(7, child.address().find('/', 7) - 7);
    Line line(std::stoi(host.substr(host.find(':') + 1)));
    line.send("PUT /" + key + "/T01.jpg HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://" + host +
              "\r\nContent-Length: 1000000\r\n\r\n" + picture(400'000));
    ASSERT_TRUE(comesTrue([&] { return filesIn(season.path()).size() == 5; }));
    child.end();
    EXPECT_EQ(5U, filesIn(season.path()).size());
    EXPECT_EQ(4U, filesIn(season / ".uploads").size());
    fs::create_symlink(season / "plan.csv", season / ".uploads/upload-link.part");
    fs::create_directory(season / ".uploads/upload-folder.part");

    const Server next({0, false, season / ".uploads"}, {}, [](const Request&) { return Response(); });
    EXPECT_EQ("kept", readBytes(season / "plan.csv"));
    EXPECT_EQ("kept", readBytes(season / ".uploads/mine.txt"));
    EXPECT_EQ("kept", readBytes(season / ".uploads/upload-mine.jpg"));
    EXPECT_EQ("kept", readBytes(season / ".uploads/mine.part"));
    EXPECT_TRUE(fs::is_symlink(season / ".uploads/upload-link.part"));
    EXPECT_TRUE(fs::exists(season / ".uploads/upload-folder.part"));
    EXPECT_EQ(5U, filesIn(season.path()).size());
}

TEST(Bodies, AFolderIsOneServersAtATime)
{
    const ScratchFolder scratch;
    const auto none = [](const Request&) { return Response(); };
    {
        const Server first({0, false, scratch / "a/b"}, {}, none);
        EXPECT_THROW(Server({0, false, scratch / "a/b"}, {}, none), Error);
    }
    const Server again({0, false, scratch / "a/b"}, {}, none);
    scratch.write("file", "x");
    EXPECT_THROW(Server({0, false, scratch / "file"}, {}, none), Error);
    EXPECT_THROW(Server({0, false, scratch / "file/below"}, {}, none), Error);
}

TEST(Bodies, AFileThatTheDiskHasNoRoomForIsSaidSo)
{
    const Served served;
    rlimit before{};
    getrlimit(RLIMIT_FSIZE, &before);
    const auto old = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit small{100'000, before.rlim_max};
    setrlimit(RLIMIT_FSIZE, &small);
    const Answer answer = served.ask(served.sending("PUT", "/x", picture(300'000), ""));
    setrlimit(RLIMIT_FSIZE, &before);
    std::signal(SIGXFSZ, old);
    EXPECT_EQ(507, answer.status);
    EXPECT_TRUE(served.asked().empty());
    EXPECT_EQ(0U, served.filesLeft());
    EXPECT_EQ(200, served.ask(served.sending("PUT", "/x", picture(300'000), "")).status);
}

}  // namespace
}  // namespace slipglass
