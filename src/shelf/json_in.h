#pragma once
#include <nlohmann/json.hpp>
#include <string>

namespace slipglass {

/// A text of an object that a page sent; "" when it has none of that name.
inline std::string textIn(const nlohmann::json& object, const std::string& name)
{
    const auto at = object.find(name);
    return at != object.end() && at->is_string() ? at->get<std::string>() : std::string();
}

}  // namespace slipglass
