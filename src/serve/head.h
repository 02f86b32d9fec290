#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "addresses.h"
#include "slipglass/serve/server.h"

namespace slipglass {

/// Where a request goes: "/KEY/photos/T01?day=3" has the key KEY and the path "/photos/T01".
struct Target {
    std::string key, path;
};
/// In its parts, not decoded; empty when there is no key with a path behind it.
std::optional<Target> targetOf(const std::string& sent);

/// What the head of a request says, as plain values; a header given twice has two.
struct Head {
    std::string method;
    std::optional<Target> target;              ///< the path decoded
    std::map<std::string, std::string> query;  ///< decoded
    std::vector<std::string> hosts, origins, types, lengths;
    bool in_pieces = false;  ///< Transfer-Encoding: no length is told
    Ends came_to;
};

/// Whether a decoded path can be given to the handler: see Request::path.
bool isPlainPath(const std::string& path);
/// Valid UTF-8 without control characters.
bool isPlainText(const std::string& text);

/// Why the request is not for this server: its Host. Empty when it is.
std::optional<Response> notForUs(const Head& head);
/// Why a request whose key was good is refused: method, where it comes from, type, length. Empty when it is
/// not.
std::optional<Response> refusedBy(const Head& head, const ServerLimits& limits);

/// Length of the body that the head tells; 0 for none. Of a head that was not refused.
std::size_t bodyBytes(const Head& head);

}  // namespace slipglass
