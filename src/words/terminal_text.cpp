#include "slipglass/terminal_text.h"

#include <glib.h>

#include <algorithm>
#include <array>
#include <cstdio>

#include "slipglass/text.h"

namespace slipglass {

namespace {

size_t columnsOf(gunichar c)
{
    if (g_unichar_iszerowidth(c)) return 0;
    return g_unichar_iswide(c) ? 2 : 1;
}

std::string blanks(const std::string& text, size_t columns)
{
    const size_t taken = terminalWidth(text);
    return std::string(columns > taken ? columns - taken : 0, ' ');
}

bool isPlain(char c)
{
    return c >= ' ' && c <= '~';
}

/// Control characters, those that turn the direction of writing or have no width, and those that end a line.
bool isObeyed(gunichar c)
{
    switch (g_unichar_type(c)) {
        case G_UNICODE_CONTROL:
        case G_UNICODE_FORMAT:
        case G_UNICODE_LINE_SEPARATOR:
        case G_UNICODE_PARAGRAPH_SEPARATOR:
            return true;
        default:
            return false;
    }
}

std::string unitText(unsigned unit)
{
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "\\u%04x", unit);
    return text.data();
}

std::string speltOut(gunichar c)
{
    if (c == '\n') return "\\n";
    if (c == '\r') return "\\r";
    if (c == '\t') return "\\t";
    constexpr gunichar kOnePlane = 0x10000;  // what is beyond it is two units of UTF-16
    if (c < kOnePlane) return unitText(c);
    return unitText(0xD800 + ((c - kOnePlane) >> 10)) + unitText(0xDC00 + ((c - kOnePlane) & 0x3FF));
}

}  // namespace

size_t terminalWidth(const std::string& text)
{
    const std::string valid = validUtf8(text);
    size_t columns = 0;
    for (const char* at = valid.c_str(); *at != '\0'; at = g_utf8_next_char(at))
        columns += columnsOf(g_utf8_get_char(at));
    return columns;
}

std::string leftAligned(const std::string& text, size_t columns)
{
    return text + blanks(text, columns);
}

std::string rightAligned(const std::string& text, size_t columns)
{
    return blanks(text, columns) + text;
}

std::string printable(const std::string& text)
{
    if (std::all_of(text.begin(), text.end(), isPlain)) return text;
    std::string shown;
    const std::string valid = validUtf8(text);
    for (const char* at = valid.c_str(); *at != '\0'; at = g_utf8_next_char(at)) {
        const gunichar c = g_utf8_get_char(at);
        if (isObeyed(c))
            shown += speltOut(c);
        else
            shown.append(at, static_cast<size_t>(g_utf8_next_char(at) - at));
    }
    return shown;
}

}  // namespace slipglass
