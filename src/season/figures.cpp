#include "slipglass/season/figures.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>

namespace slipglass {

std::optional<double> finite(std::optional<double> value)
{
    return value && std::isfinite(*value) ? value : std::nullopt;
}

std::string figureText(std::optional<double> value, int decimals)
{
    value = finite(value);
    if (!value) return {};
    std::array<char, 400> text{};  // the largest double has 309 digits before the point
    const auto end =
        std::to_chars(text.data(), text.data() + text.size(), *value, std::chars_format::fixed, decimals);
    std::string written(text.data(), end.ptr);
    const bool only_zeros = written.find_first_not_of("-0.") == std::string::npos;
    return only_zeros && written.starts_with('-') ? written.substr(1) : written;
}

const char* stateText(State state)
{
    switch (state) {
        case State::measured:
            return "measured";
        case State::caution:
            return "caution";
        case State::retake:
            break;
    }
    return "retake";
}

std::optional<State> parseState(const std::string& text)
{
    for (const State state : {State::measured, State::caution, State::retake})
        if (text == stateText(state)) return state;
    return std::nullopt;
}

std::string timeText(const TakenAt& taken)
{
    if (!taken.second_of_day) return {};
    const int seconds = *taken.second_of_day;
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%02d:%02d:%02d", seconds / 3600, seconds / 60 % 60,
                  seconds % 60);
    return text.data();
}

}  // namespace slipglass
