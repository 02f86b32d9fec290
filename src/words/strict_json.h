#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

namespace slipglass {

/// Whether lists and objects stand in each other deeper than in anything of ours. To write, copy or compare
/// such JSON the library goes a call deeper with each, beyond the end of the stack.
bool isTooDeep(std::string_view text);

/// Parses JSON that a person wrote. `file_name` is for messages only.
/// Throws Error: broken JSON with its line and column, one that is too deep, or a key given twice in one
/// object.
nlohmann::json parseStrictJson(std::string_view text, const std::string& file_name);

/// A number that an int holds; of 1e300, get<int>() would be anything. Throws the library's own exception
/// where it is none.
int intIn(const nlohmann::json& value);

}  // namespace slipglass
