#pragma once
// Values of season.json: what is not known is null.
#include <nlohmann/json.hpp>
#include <optional>

#include "slipglass/date.h"

namespace slipglass {

using Json = nlohmann::ordered_json;

/// The number that a CSV file shows as `text`; null for "".
Json numberIn(const std::string& text);
/// Rounded as in the CSV files, so that they agree.
Json number(std::optional<double> value, int decimals);
Json date(const std::optional<Date>& day);

template <class T>
Json known(const std::optional<T>& value)
{
    return value ? Json(*value) : Json(nullptr);
}

}  // namespace slipglass
