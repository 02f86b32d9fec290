#pragma once
#include <chrono>
#include <memory>
#include <optional>
#include <semaphore>

#include "head.h"
#include "keys.h"
#include "slipglass/serve/server.h"
#include "uploads.h"

namespace slipglass {

/// One request, from its first line to its answer.
struct Exchange {
    Head head;
    bool head_seen = false;
    Request request;
    std::size_t announced = 0, received = 0;  ///< bytes of the body
    std::chrono::steady_clock::time_point body_began;
    std::unique_ptr<Upload> upload;
};

/// What becomes of a request, whatever library brought it: refused, let in with a new key, or given to the
/// handler. Called from several threads, for each exchange from one.
class Reception {
public:
    Reception(const ServerPlace& place, const ServerLimits& limits, Handler handler);

    Keys& keys() { return keys_; }

    /// With the head read. @return  what to answer without a body; empty when there is more to come.
    std::optional<Response> atHead(Exchange& exchange);
    /// A piece of the body. Throws when it is longer than its head told.
    void take(Exchange& exchange, const char* bytes, std::size_t count);
    /// With the body read. Throws when it is shorter.
    Response atEnd(Exchange& exchange);

private:
    std::optional<Response> letIn(Exchange& exchange);
    Response joined(const std::string& code);

    const ServerLimits limits_;
    const Handler handler_;
    UploadFolder uploads_;
    Keys keys_;
    std::counting_semaphore<> free_handlers_;
};

}  // namespace slipglass
