#pragma once
#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "slipglass/error.h"

namespace slipglass {

/// One line on what was typed wrong and what to do, in our own words whatever CLI11 says: "--bath is not an
/// option of measure; did you mean --batch? See 'slipglass measure --help'."
/// @param app  after it threw `error`.
std::string usageLine(const CLI::App& app, const CLI::ParseError& error);

/// The line of an Error that a command threw; with the way to --help where it is about what was typed.
std::string errorLine(const CLI::App& app, const Error& error);

/// CLI11 takes `--out --batch` as a folder called --batch; whoever types that has left the folder out. An
/// empty value is a variable of the shell that was not set: no option has a use for one.
void refuseWhatIsNoValue(CLI::App& app);

/// Throws Error for `--out=` with nothing behind it: CLI11 would take the next word for the value.
void refuseNothingBehindEquals(int argc, const char* const* argv);

// Checks of an option's value; what they say of a wrong one is what to do, as usageLine wants it.

CLI::Validator wholeNumber(int low, int high);
CLI::Validator number(double low, double high);
CLI::Validator oneOf(const std::vector<std::string>& words);

}  // namespace slipglass
