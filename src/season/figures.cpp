#include "slipglass/season/figures.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace slipglass {

std::optional<double> finite(std::optional<double> value)
{
    return value && std::isfinite(*value) ? value : std::nullopt;
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
