#include "head.h"

#include <charconv>

#include "answers.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr std::size_t kLongestPath = 1024;

/// What a page of another site can send without being asked whether it may.
bool isFormType(const std::string& type)
{
    const std::string media = inSmall(type.substr(0, type.find_first_of("; \t,")));
    return media == "application/x-www-form-urlencoded" || media == "multipart/form-data" ||
           media == "text/plain";
}

std::optional<std::size_t> lengthIn(const std::string& text)
{
    std::size_t length = 0;
    const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), length);
    if (text.empty() || problem != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return length;
}

}  // namespace

std::optional<Target> targetOf(const std::string& sent)
{
    if (sent.empty() || sent.front() != '/') return std::nullopt;
    const std::string path = sent.substr(0, sent.find('?'));
    const std::size_t slash = path.find('/', 1);
    if (slash == std::string::npos) return std::nullopt;
    return Target{path.substr(1, slash - 1), path.substr(slash)};
}

bool isPlainText(const std::string& text)
{
    if (validUtf8(text) != text) return false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto c = static_cast<unsigned char>(text[i]);
        if (c < 0x20 || c == 0x7f) return false;
        // U+0080 to U+009F, which a terminal obeys too
        if (c == 0xc2 && static_cast<unsigned char>(text[i + 1]) < 0xa0) return false;
    }
    return true;
}

bool isPlainPath(const std::string& path)
{
    if (path.empty() || path.front() != '/' || path.size() > kLongestPath) return false;
    if (!isPlainText(path) || path.find('\\') != std::string::npos || path.find("//") != std::string::npos)
        return false;
    const std::string closed = path + "/";
    return closed.find("/./") == std::string::npos && closed.find("/../") == std::string::npos;
}

std::optional<Response> notForUs(const Head& head)
{
    if (head.hosts.size() == 1) {
        const std::string host = inSmall(head.hosts[0]),
                          port = std::string(":").append(std::to_string(head.came_to.port));
        if (host == head.came_to.address + port || (head.came_to.near && host == "localhost" + port))
            return std::nullopt;
    }
    return plainly(421, "This server is not reached by that name.");
}

std::optional<Response> refusedBy(const Head& head, const ServerLimits& limits)
{
    const bool sends = head.method == "POST" || head.method == "PUT";
    if (!sends && head.method != "GET" && head.method != "HEAD") {
        Response response = plainly(405, "No such method here.");
        response.headers["Allow"] = "GET, HEAD, POST, PUT";
        return response;
    }
    const bool has_body = head.in_pieces || !head.lengths.empty();
    if (!sends)
        return has_body && head.lengths != std::vector<std::string>{"0"}
                   ? std::optional(plainly(400, "A body is not expected here."))
                   : std::nullopt;
    if (head.origins.size() != 1 || head.origins[0] != "http://" + inSmall(head.hosts.at(0)))
        return plainly(403, "Only this server's own pages may send.");
    if (head.method == "POST" && (head.types.size() != 1 || isFormType(head.types[0])))
        return plainly(415, "Forms are not taken.");
    if (head.in_pieces || head.lengths.size() != 1) return plainly(411, "The length must be told.");
    const auto length = lengthIn(head.lengths[0]);
    if (!length) return plainly(400, "The length is no number.");
    if (*length > (head.method == "PUT" ? limits.upload_bytes : limits.body_bytes))
        return plainly(413, "That is too large.");
    return std::nullopt;
}

std::size_t bodyBytes(const Head& head)
{
    return head.lengths.empty() ? 0 : lengthIn(head.lengths[0]).value_or(0);
}

}  // namespace slipglass
