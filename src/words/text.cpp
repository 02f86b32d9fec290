#include "slipglass/text.h"

#include <glib.h>

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

std::string inSmall(std::string text)
{
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return text;
}

std::string validUtf8(const std::string& text)
{
    const std::unique_ptr<char, decltype(&g_free)> valid(
        g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())), g_free);
    return valid.get();
}

}  // namespace slipglass
