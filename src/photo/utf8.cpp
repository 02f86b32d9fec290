#include "utf8.h"

#include <glib.h>

namespace slipglass {

std::string asUtf8(const std::string& bytes)
{
    std::string text = bytes;
    const char* wrong = text.data();
    const char* const end = wrong + text.size();
    while (!g_utf8_validate(wrong, end - wrong, &wrong)) text[static_cast<size_t>(wrong - text.data())] = '?';
    return text;
}

}  // namespace slipglass
