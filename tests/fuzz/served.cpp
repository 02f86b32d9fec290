#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <cerrno>
#include <nlohmann/json.hpp>

#include "../../src/shelf/care_form.h"
#include "../../src/shelf/diary.h"
#include "../../src/shelf/own_corrections.h"
#include "../../src/shelf/plan_form.h"
#include "../../src/words/strict_json.h"
#include "as_file.h"
#include "slipglass/corrections/correction.h"
#include "slipglass/serve/server.h"

namespace slipglass::fuzz {

namespace {

/// What a handler is promised of each request.
Response answer(const Request& request)
{
    require(request.method == "GET" || request.method == "POST" || request.method == "PUT", "a method");
    require(request.path.starts_with("/") && request.path.find("/../") == std::string::npos, "a path");
    require(request.path.find('\\') == std::string::npos && request.path.find("//") == std::string::npos,
            "a path's parts");
    require(request.upload.empty() || std::filesystem::file_size(request.upload) == request.upload_bytes,
            "an upload of another length");
    return {200, "text/plain; charset=utf-8", request.path + request.body, {}, {}};
}

Server& server()
{
    static Server one({0, false, scratch() / "uploads"}, {}, [](const Request& request) {
        try {
            return answer(request);
        } catch (const std::logic_error&) {
            std::terminate();  // else the server makes it an answer of 500
        }
    });
    return one;
}

std::string withAll(std::string text, const std::string& mark, const std::string& value)
{
    for (size_t at = 0; (at = text.find(mark, at)) != std::string::npos; at += value.size())
        text.replace(at, mark.size(), value);
    return text;
}

/// A connection to the server, each from an address of its own: one that the server ended first waits on for
/// a minute, and an address has some 28,000 ports.
int called(int port)
{
    sockaddr_in there{}, here{};
    there.sin_family = here.sin_family = AF_INET;
    there.sin_port = htons(static_cast<std::uint16_t>(port));
    there.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const linger at_once{1, 0};  // nor waits one that is ended here first
    const timeval longest{9, 0};
    static std::uint32_t calls = 0;
    for (;;) {
        const int line = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        setsockopt(line, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
        setsockopt(line, SOL_SOCKET, SO_RCVTIMEO, &longest, sizeof longest);
        here.sin_addr.s_addr = htonl(INADDR_LOOPBACK | ++calls % 0xffff << 8);
        require(bind(line, reinterpret_cast<const sockaddr*>(&here), sizeof here) == 0,
                "no address to call from");
        if (connect(line, reinterpret_cast<const sockaddr*>(&there), sizeof there) == 0) return line;
        // The fuzzer's clock strikes while a call waits: it is made again, and ends the run if none is taken.
        const bool struck = errno == EINTR;
        close(line);
        require(struck, "a server that takes no more connections");
    }
}

}  // namespace

void request(Bytes sent)
{
    const std::string host = "127.0.0.1:" + std::to_string(server().port()), address = server().address();
    const std::string key = address.substr(address.find(host) + host.size() + 1);
    const std::string text =
        withAll(withAll(std::string(textOf(sent)), "@K", key.substr(0, key.size() - 1)), "@H", host);

    const int line = called(server().port());
    std::string answered;
    if (send(line, text.data(), text.size(), MSG_NOSIGNAL) >= 0) {
        shutdown(line, SHUT_WR);
        char some[4096];
        for (ssize_t got; (got = recv(line, some, sizeof some, 0)) > 0;)
            answered.append(some, static_cast<size_t>(got));
    }
    close(line);
    require(answered.empty() || answered.starts_with("HTTP/1."), "an answer that is none");
}

void form(Bytes body)
{
    const std::string text(textOf(body));
    const size_t line = std::min(text.find('\n'), text.size());
    const std::string path = text.substr(0, line), sent = text.substr(std::min(line + 1, text.size()));
    if (isTooDeep(sent)) return;
    try {  // as Shelf::Served does
        const auto page = nlohmann::json::parse(sent);
        if (!page.is_object()) return;
        if (path == "/care") {
            const CareEvent event = eventIn(page, kToday);
            eventJson(event);
            const std::string diary = withRow("", event);
            require(parseCare(diary, "care.csv", kToday).events.size() == 1,
                    "a row that is not in the diary");
            require(withoutRow(diary, event).has_value(), "a row that cannot be taken back");
            lately(diary, kToday);
        }
        if (path == "/plan") planForm(planIn(page, kToday), {}).dump();
        if (path == "/plan/draw") drawnForm(page, {}).dump();
        if (path == "/tub-type") withTubType(withTubType("", page), page);
        if (path == "/correction") {
            parseCorrection(sent, "The page");
            parseCorrection(correctionOf(sent, "T01_2026-01-12.jpg", "T01"), "again");
        }
    } catch (const Error&) {
    } catch (const nlohmann::json::exception&) {
    }
}

}  // namespace slipglass::fuzz
