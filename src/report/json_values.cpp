#include "json_values.h"

#include <charconv>

#include "slipglass/season/figures.h"

namespace slipglass {

Json numberIn(const std::string& text)
{
    if (text.empty()) return nullptr;
    double value = 0;  // read back without a locale
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
}

Json number(std::optional<double> value, int decimals)
{
    return numberIn(figureText(value, decimals));
}

Json date(const std::optional<Date>& day)
{
    return day ? Json(isoDate(*day)) : Json(nullptr);
}

}  // namespace slipglass
