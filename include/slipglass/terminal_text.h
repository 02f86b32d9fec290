#pragma once
#include <string>

namespace slipglass {

// Text in the columns of a terminal.

/// Columns that UTF-8 text takes: two for a wide character, none for one that sits on the one before.
std::size_t terminalWidth(const std::string& text);

/// Filled up with blanks to so many columns; longer text stays as it is.
std::string leftAligned(const std::string& text, std::size_t columns);
std::string rightAligned(const std::string& text, std::size_t columns);

/// Ids come from file names and labels: whatever a terminal would obey becomes '?', so that no id can play
/// with it, and what is not UTF-8 the replacement character.
std::string printable(const std::string& text);

}  // namespace slipglass
