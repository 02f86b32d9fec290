#include "reception.h"

#include <stdexcept>

#include "answers.h"

namespace slipglass {

namespace {

bool isPlain(const Request& request)
{
    for (const auto& [name, value] : request.query)
        if (!isPlainText(name) || !isPlainText(value)) return false;
    return isPlainPath(request.path);
}

}  // namespace

Reception::Reception(const ServerPlace& place, const ServerLimits& limits, Handler handler)
    : limits_(limits),
      handler_(std::move(handler)),
      uploads_(place.uploads),
      keys_(std::chrono::seconds(limits.invitation_s), limits.wrong_codes_per_minute),
      free_handlers_(limits.handlers)
{
}

std::optional<Response> Reception::atHead(Exchange& exchange)
{
    const Head& head = exchange.head;
    Request& request = exchange.request;
    if (auto refusal = notForUs(head)) return refusal;
    if (auto answer = letIn(exchange)) return answer;
    if (auto refusal = refusedBy(head, limits_)) return refusal;
    request.method = head.method == "HEAD" ? "GET" : head.method;
    request.path = head.target->path;
    request.query = head.query;
    if (!isPlain(request)) return plainly(400, "No such path can be.");
    exchange.announced = bodyBytes(head);
    exchange.body_began = std::chrono::steady_clock::now();
    if (request.method == "PUT") exchange.upload = std::make_unique<Upload>(uploads_);
    return std::nullopt;
}

std::optional<Response> Reception::letIn(Exchange& exchange)
{
    const Head& head = exchange.head;
    if (!head.target) return nothingThere();
    // What looks a link up before it is followed sends HEAD, and must not use it up.
    if (head.target->key == "join" && head.method == "GET") return joined(head.target->path.substr(1));
    const Guest guest = keys_.whoHas(head.target->key, head.came_to.near);
    if (guest == Guest::nobody) return nothingThere();
    exchange.request.from_this_computer = guest == Guest::this_computer;
    return std::nullopt;
}

Response Reception::joined(const std::string& code)
{
    const Keys::Joined joined = keys_.join(code, Keys::Clock::now());
    if (joined.too_many) return plainly(429, "Too many wrong codes. Wait a minute.");
    if (joined.key.empty()) return nothingThere();
    Response response = plainly(303, "Come in.");
    response.headers["Location"] = "/" + joined.key + "/";
    return response;
}

void Reception::take(Exchange& exchange, const char* bytes, std::size_t count)
{
    exchange.received += count;
    if (exchange.received > exchange.announced) throw std::runtime_error("more than was announced");
    if (exchange.upload)
        exchange.upload->add(bytes, count);
    else
        exchange.request.body.append(bytes, count);
}

Response Reception::atEnd(Exchange& exchange)
{
    if (exchange.received != exchange.announced) throw std::runtime_error("less than was announced");
    if (exchange.upload) {
        if (!exchange.upload->finish()) return plainly(507, "The disk has no room for this.");
        exchange.request.upload = exchange.upload->path();
        exchange.request.upload_bytes = exchange.received;
    }
    Response response;
    free_handlers_.acquire();
    try {
        response = handler_(exchange.request);
    } catch (...) {
        response = somethingWentWrong();
    }
    free_handlers_.release();
    return response;
}

}  // namespace slipglass
