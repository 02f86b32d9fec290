#include "slipglass/terminal_text.h"

#include <glib.h>

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
    std::string shown;
    const std::string valid = validUtf8(text);
    for (const char* at = valid.c_str(); *at != '\0'; at = g_utf8_next_char(at)) {
        const gunichar c = g_utf8_get_char(at);
        if (g_unichar_iscntrl(c) || g_unichar_type(c) == G_UNICODE_FORMAT)
            shown += '?';
        else
            shown.append(at, static_cast<size_t>(g_utf8_next_char(at) - at));
    }
    return shown;
}

}  // namespace slipglass
