#pragma once
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

namespace slipglass {

/// Parses JSON that a person wrote. `file_name` is for messages only.
/// Throws Error: broken JSON with its line and column, or a key given twice in one object.
nlohmann::json parseStrictJson(std::string_view text, const std::string& file_name);

}  // namespace slipglass
