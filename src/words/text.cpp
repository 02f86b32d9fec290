#include "slipglass/text.h"

#include <glib.h>

#include <array>
#include <charconv>
#include <cmath>
#include <memory>

namespace slipglass {

std::string joined(const std::vector<std::string>& parts, const char* between)
{
    std::string text;
    for (const auto& part : parts)
        if (!part.empty()) text += (text.empty() ? "" : between) + part;
    return text;
}

std::string counted(long long n, const char* one, const char* many)
{
    return std::to_string(n) + " " + (n == 1 ? one : many);
}

std::string figureText(std::optional<double> value, int decimals)
{
    if (!value || !std::isfinite(*value)) return {};
    std::array<char, 400> text{};  // the largest double has 309 digits before the point
    const auto end =
        std::to_chars(text.data(), text.data() + text.size(), *value, std::chars_format::fixed, decimals);
    std::string written(text.data(), end.ptr);
    const bool only_zeros = written.find_first_not_of("-0.") == std::string::npos;
    return only_zeros && written.starts_with('-') ? written.substr(1) : written;
}

std::string inSmall(std::string text)
{
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return text;
}

std::string readableLength(const std::string& text)
{
    constexpr size_t kBeginning = 600, kEnd = 200;
    if (text.size() <= kBeginning + kEnd + 200) return text;
    const auto within = [&](size_t at) { return (static_cast<unsigned char>(text[at]) & 0xc0) == 0x80; };
    size_t first = kBeginning, last = text.size() - kEnd;
    while (first > 0 && within(first)) --first;  // no letter of several bytes is cut in two
    while (last < text.size() && within(last)) ++last;
    return text.substr(0, first) + " [" + std::to_string(last - first) + " bytes left out] " +
           text.substr(last);
}

std::string validUtf8(const std::string& text)
{
    const std::unique_ptr<char, decltype(&g_free)> valid(
        g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())), g_free);
    return valid.get();
}

}  // namespace slipglass
