#pragma once
// A client that sends whatever it is told, over a socket, and a server to send it to.
#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <chrono>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "../support/scratch_folder.h"
#include "slipglass/serve/server.h"
#include "slipglass/text.h"

namespace slipglass::test {

struct Answer {
    int status = 0;  ///< 0: cut off without one
    std::map<std::string, std::string> headers;
    std::string body, all;
};

inline Answer answerIn(const std::string& all)
{
    Answer answer;
    answer.all = all;
    const std::size_t end = all.find("\r\n\r\n");
    if (all.compare(0, 9, "HTTP/1.1 ") != 0 || end == std::string::npos) return answer;
    answer.status = std::stoi(all.substr(9, 3));
    answer.body = all.substr(end + 4);
    for (std::size_t at = all.find("\r\n") + 2; at < end;) {
        const std::size_t line_end = all.find("\r\n", at);
        const std::string line = all.substr(at, line_end - at);
        const std::size_t colon = line.find(": ");
        if (colon != std::string::npos)
            answer.headers[inSmall(line.substr(0, colon))] = line.substr(colon + 2);
        at = line_end + 2;
    }
    return answer;
}

/// A connection. Nothing waits longer than ten seconds.
class Line {
public:
    explicit Line(int port, const std::string& to = "127.0.0.1", const std::string& from = "")
        : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0))
    {
        const timeval longest{10, 0};
        setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &longest, sizeof longest);
        setsockopt(socket_, SOL_SOCKET, SO_SNDTIMEO, &longest, sizeof longest);
        if (!from.empty()) {
            const sockaddr_in here = at(from, 0);
            EXPECT_EQ(0, bind(socket_, reinterpret_cast<const sockaddr*>(&here), sizeof here));
        }
        const sockaddr_in there = at(to, port);
        open_ = connect(socket_, reinterpret_cast<const sockaddr*>(&there), sizeof there) == 0;
    }
    Line(Line&& other) noexcept : socket_(other.socket_), open_(other.open_) { other.socket_ = -1; }
    Line(const Line&) = delete;
    ~Line() { hangUp(); }
    void hangUp()
    {
        if (socket_ >= 0) close(socket_);
        socket_ = -1;
    }

    bool open() const { return open_; }
    int socket() const { return socket_; }
    /// Whether all of it was taken.
    bool send(const std::string& bytes)
    {
        std::size_t sent = 0;
        while (sent < bytes.size()) {
            const ssize_t some = ::send(socket_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
            if (some <= 0) return false;
            sent += static_cast<std::size_t>(some);
        }
        return true;
    }
    /// Until the other end closes.
    std::string rest()
    {
        std::string all;
        char some[16384];
        for (ssize_t got; (got = recv(socket_, some, sizeof some, 0)) > 0;)
            all.append(some, static_cast<std::size_t>(got));
        return all;
    }

private:
    static sockaddr_in at(const std::string& address, int port)
    {
        sockaddr_in end{};
        end.sin_family = AF_INET;
        end.sin_port = htons(static_cast<std::uint16_t>(port));
        inet_pton(AF_INET, address.c_str(), &end.sin_addr);
        return end;
    }
    int socket_;
    bool open_ = false;
};

inline std::string numbered(const std::string& text, int number)
{
    return text + std::to_string(number);
}

inline std::string keyIn(const std::string& address)
{
    const std::size_t slash = address.find('/', 7);
    return address.substr(slash + 1, address.size() - slash - 2);
}

/// A server whose handler notes what it was asked, and answers with its path.
class Served {
public:
    explicit Served(ServerLimits limits = {}, bool lan = false)
        : server({0, lan, scratch / "uploads"}, limits,
                 [this](const Request& request) {
                     {
                         const std::lock_guard lock(mutex_);
                         asked_.push_back(request);
                         upload_ = request.upload.empty() ? "" : readBytes(request.upload);
                     }
                     if (answers) return answers(request);
                     Response response;
                     response.body = request.path;
                     return response;
                 }),
          key(keyIn(server.address()))
    {
    }

    std::string host() const { return "127.0.0.1:" + std::to_string(server.port()); }
    /// A request line and the headers that a browser sends with it.
    std::string head(const std::string& method, const std::string& below, const std::string& more = "") const
    {
        return method + " /" + key + below + " HTTP/1.1\r\nHost: " + host() + "\r\nConnection: close\r\n" +
               more + "\r\n";
    }
    std::string sending(const std::string& method, const std::string& below, const std::string& body,
                        const std::string& more = "Content-Type: application/json\r\n") const
    {
        return head(method, below,
                    "Origin: http://" + host() + "\r\nContent-Length: " + std::to_string(body.size()) +
                        "\r\n" + more) +
               body;
    }
    Answer ask(const std::string& bytes, const std::string& to = "127.0.0.1") const
    {
        Line line(server.port(), to);
        line.send(bytes);
        return answerIn(line.rest());
    }
    std::vector<Request> asked() const
    {
        const std::lock_guard lock(mutex_);
        return asked_;
    }
    /// What the last upload held when the handler had it.
    std::string upload() const
    {
        const std::lock_guard lock(mutex_);
        return upload_;
    }
    std::size_t filesLeft() const
    {
        const std::filesystem::directory_iterator all(scratch / "uploads");
        return static_cast<std::size_t>(std::distance(begin(all), end(all)));
    }

    ScratchFolder scratch;
    std::function<Response(const Request&)> answers;

private:
    mutable std::mutex mutex_;
    std::vector<Request> asked_;
    std::string upload_;

public:
    Server server;  // the last of what its handler uses, so that it ends first
    const std::string key;
};

/// Whether it comes true within five seconds.
template <typename Condition>
bool comesTrue(Condition condition)
{
    for (int tries = 0; tries < 250; ++tries) {
        if (condition()) return true;
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    return false;
}

}  // namespace slipglass::test
