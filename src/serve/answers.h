#pragma once
#include <map>
#include <string>

#include "slipglass/serve/server.h"

namespace slipglass {

/// A line that says no more than it must, and nothing of what was sent.
Response plainly(int status, const std::string& line);
Response nothingThere();
/// For what is our own bug, and no concern of who asks.
Response somethingWentWrong();

/// All headers that go with a response, names in small letters.
std::map<std::string, std::string> headersOf(const Response& response);

}  // namespace slipglass
