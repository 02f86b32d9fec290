#include <algorithm>
#include <charconv>
#include <cmath>

#include "slipglass/tub/label.h"

namespace slipglass {

std::string labelText(const std::string& tub, double qr_side_mm)
{
    constexpr double kHundredthMm = 100;
    const double rounded = std::round(qr_side_mm * kHundredthMm) / kHundredthMm;
    char number[32];
    const auto end = std::to_chars(std::begin(number), std::end(number), rounded).ptr;
    return tub + "#" + std::string(number, end) + "mm";
}

std::optional<LabelPayload> parseLabelText(std::string_view text)
{
    constexpr std::size_t kLongestId = 64;
    constexpr std::string_view kUnit = "mm";
    LabelPayload payload{std::string(text), std::nullopt};
    const auto mark = text.rfind('#');
    if (mark != std::string_view::npos && text.ends_with(kUnit)) {
        const std::string_view number = text.substr(mark + 1, text.size() - mark - 1 - kUnit.size());
        double side = 0;
        const auto [end, problem] =
            std::from_chars(number.data(), number.data() + number.size(), side, std::chars_format::fixed);
        if (problem == std::errc() && end == number.data() + number.size() && side >= 5 && side <= 200)
            payload = {std::string(text.substr(0, mark)), side};
    }
    const auto control = [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; };
    if (payload.tub.empty() || payload.tub.size() > kLongestId) return std::nullopt;
    if (std::any_of(payload.tub.begin(), payload.tub.end(), control)) return std::nullopt;
    if (payload.tub.find("://") != std::string::npos) return std::nullopt;
    return payload;
}

}  // namespace slipglass
