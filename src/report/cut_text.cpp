#include "cut_text.h"

#include <glib.h>

#include <vector>

#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

constexpr const char* kCut = "…";

/// Text as the characters a terminal shows.
std::vector<std::string> charactersOf(const std::string& text)
{
    std::vector<std::string> characters;
    const std::string shown = printable(text);
    for (const char* at = shown.c_str(); *at != '\0'; at = g_utf8_next_char(at))
        characters.emplace_back(at, static_cast<size_t>(g_utf8_next_char(at) - at));
    return characters;
}

std::string joinedUp(const std::vector<std::string>& characters)
{
    std::string text;
    for (const auto& c : characters) text += c;
    return text;
}

}  // namespace

std::string cutInMiddle(const std::string& id, size_t columns)
{
    std::vector<std::string> characters = charactersOf(id);
    if (terminalWidth(joinedUp(characters)) <= columns) return joinedUp(characters);
    long cut = 0;
    while (terminalWidth(joinedUp(characters)) + 1 > columns) {
        cut = static_cast<long>(characters.size() / 2);
        characters.erase(characters.begin() + cut);
    }
    characters.insert(characters.begin() + cut, kCut);
    return joinedUp(characters);
}

std::string cutAt(const std::string& text, size_t columns)
{
    std::vector<std::string> characters = charactersOf(text);
    if (terminalWidth(joinedUp(characters)) <= columns) return joinedUp(characters);
    while (terminalWidth(joinedUp(characters)) + 1 > columns) characters.pop_back();
    return joinedUp(characters) + kCut;
}

}  // namespace slipglass
