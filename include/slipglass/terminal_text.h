#pragma once
#include <string>

namespace slipglass {

// Text in the columns of a terminal.

/// Columns that UTF-8 text takes: two for a wide character, none for one that sits on the one before.
std::size_t terminalWidth(const std::string& text);

/// Filled up with blanks to so many columns; longer text stays as it is.
std::string leftAligned(const std::string& text, std::size_t columns);
std::string rightAligned(const std::string& text, std::size_t columns);

/// One line for a terminal. Ids come from file names, labels and plans: whatever a terminal would obey or not
/// show is spelt out, as JSON spells it (an escape is "\\u001b", a new line "\\n"), so that no id can play
/// with it, and JSON stays the same JSON. What is not UTF-8 becomes the replacement character.
std::string printable(const std::string& text);

}  // namespace slipglass
