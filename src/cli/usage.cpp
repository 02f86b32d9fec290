#include "usage.h"

#include <algorithm>
#include <charconv>

#include "slipglass/settings.h"
#include "slipglass/text.h"

namespace slipglass {
namespace {

using Options = std::vector<const CLI::Option*>;
using Commands = std::vector<const CLI::App*>;

Commands commandsOf(const CLI::App& app)
{
    return app.get_subcommands([](const CLI::App*) { return true; });
}

Options optionsOf(const CLI::App& command)
{
    return command.get_options([](const CLI::Option*) { return true; });
}

/// Names without dashes, so that these do not count among the letters.
std::vector<std::string> optionNames(const CLI::App& command)
{
    std::vector<std::string> names;
    for (const CLI::Option* option : optionsOf(command))
        names.insert(names.end(), option->get_lnames().begin(), option->get_lnames().end());
    return names;
}

/// The first of the names that the word begins, else the nearest; empty when there is none.
std::string meant(const std::string& word, const std::vector<std::string>& names)
{
    constexpr size_t kBegun = 3;  // letters
    const auto begun =
        std::find_if(names.begin(), names.end(), [&](const auto& name) { return name.starts_with(word); });
    return word.size() >= kBegun && begun != names.end() ? *begun : nearestWord(word, names);
}

std::string withoutDashes(const std::string& option)
{
    const size_t first = option.find_first_not_of('-');
    return first == std::string::npos ? "" : option.substr(first);
}

/// "--bath" of "--bath=plan.csv".
std::string optionIn(const std::string& word)
{
    return word.substr(0, word.find('='));
}

bool isOption(const std::string& word)
{
    return word.size() > 1 && word[0] == '-';
}

std::string unknownCommand(const CLI::App& app, const std::string& word)
{
    std::vector<std::string> names;
    for (const CLI::App* command : commandsOf(app)) names.push_back(command->get_name());
    const std::string near = meant(word, names);
    const std::string line = word.empty() ? "no command is given" : "'" + word + "' is not a command";
    return line +
           (near.empty() ? ". There are " + joined(names, ", ") + "." : "; did you mean " + near + "?");
}

/// An option before the command: one of a command may be meant.
std::string optionOfNone(const CLI::App& app, const std::string& option)
{
    std::vector<std::string> names = optionNames(app);
    for (const CLI::App* command : commandsOf(app)) {
        const auto own = optionNames(*command);
        names.insert(names.end(), own.begin(), own.end());
    }
    const std::string near = "--" + meant(withoutDashes(option), names);
    std::vector<std::string> owners;
    for (const CLI::App* command : commandsOf(app))
        if (command->get_option_no_throw(near)) owners.push_back(command->get_name());
    const std::string line = option + " is not an option of slipglass itself";
    if (near == option) return line + ". Give it behind its command: " + joined(owners, ", ") + ".";
    if (app.get_option_no_throw(near)) return line + "; did you mean " + near + "?";
    if (owners.empty()) return line + ". Give a command first, then its options.";
    return line + "; did you mean " + near + ", behind " + joined(owners, " or ") + "?";
}

std::string unknownWord(const CLI::App& command, const std::string& word)
{
    if (!isOption(word)) return "'" + word + "' is one word more than " + command.get_name() + " takes.";
    const std::string option = optionIn(word);
    const std::string near = meant(withoutDashes(option), optionNames(command));
    return option + " is not an option of " + command.get_name() +
           (near.empty() ? "." : "; did you mean --" + near + "?");
}

/// "FILE": what an option's value is called.
std::string kindOf(const CLI::Option& option)
{
    const std::string kind = option.get_type_name();  // "N:0 to 256", with what its check says
    return kind.substr(0, kind.find(':'));
}

/// "measure needs PHOTOS (photos, or folders of photos)."
std::string missing(const CLI::App& command)
{
    std::vector<std::string> wanted;
    for (const CLI::Option* option : optionsOf(command)) {
        if (!option->get_required() || option->count() > 0) continue;
        std::string what = option->get_description();
        if (what.size() > 1 && what[0] >= 'A' && what[0] <= 'Z' && what[1] >= 'a') what[0] += 'a' - 'A';
        std::string name =
            option->get_positional() ? kindOf(*option) : option->get_name() + " " + kindOf(*option);
        wanted.push_back(name.append(" (").append(what).append(")"));
    }
    return wanted.empty() ? "" : command.get_name() + " needs " + joined(wanted, " and ") + ".";
}

/// The option that CLI11's words are about: the first that they name.
const CLI::Option* optionOf(const CLI::App& command, const std::string& words)
{
    const CLI::Option* first = nullptr;
    size_t at = std::string::npos;
    for (const CLI::Option* option : optionsOf(command)) {
        const size_t here = words.find(option->get_name());
        const bool longer = first && here == at && option->get_name().size() > first->get_name().size();
        if (here < at || (here != std::string::npos && longer)) {
            first = option;
            at = here;
        }
    }
    return first;
}

std::string wrongValue(const CLI::App& command, const CLI::Option& option, const CLI::ParseError& error)
{
    const bool positional = option.get_positional();
    const std::string name = (positional ? kindOf(option) : option.get_name()) + " of " + command.get_name();
    const std::string value = joined(option.results(), " ");
    if (option.get_items_expected_max() == 0) return name + " takes no value. Give it alone.";
    if (dynamic_cast<const CLI::ArgumentMismatch*>(&error))
        return option.count() > 1
                   ? name + " is given " + std::to_string(option.count()) + " times. Give it once."
                   : name + " has no value. Give " + kindOf(option) + " behind it.";
    std::string to_do = "Give a whole number";
    if (dynamic_cast<const CLI::ValidationError*>(&error)) {
        to_do = error.what();  // "--threads: Give a number ..."
        to_do.erase(0, to_do.find(": ") + 2);
    }
    const auto& given = option.results();
    if (std::find(given.begin(), given.end(), "") != given.end())
        return name + " is empty, as a variable of the shell is that was not set. " + to_do + ".";
    return name + " is '" + value + "'. " + to_do + ".";
}

std::string whatIsWrong(const CLI::App& app, const CLI::App& command, const CLI::ParseError& error)
{
    if (const auto before = app.remaining(); !before.empty())
        return isOption(before[0]) ? optionOfNone(app, optionIn(before[0])) : unknownCommand(app, before[0]);
    if (&command == &app) return unknownCommand(app, "");
    if (const auto words = command.remaining(); !words.empty()) return unknownWord(command, words[0]);
    if (dynamic_cast<const CLI::RequiredError*>(&error))
        if (std::string line = missing(command); !line.empty()) return line;
    if (const CLI::Option* option = optionOf(command, error.what()))
        return wrongValue(command, *option, error);
    return std::string(error.what()) + ".";
}

const CLI::App& commandGiven(const CLI::App& app)
{
    const auto given = app.get_subcommands();
    return given.empty() ? app : *given.front();
}

std::string seeHelp(const CLI::App& app, const CLI::App& command)
{
    return " See 'slipglass" + (&command == &app ? "" : " " + command.get_name()) + " --help'.";
}

template <class Number>
CLI::Validator between(Number low, Number high, const std::string& kind)
{
    const std::string range = exactText(low) + " to " + exactText(high);
    return CLI::Validator(
        [=](std::string& text) {
            Number value{};
            const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
            const bool whole = problem == std::errc() && end == text.data() + text.size();
            return whole && low <= value && value <= high ? "" : "Give a " + kind + " from " + range;
        },
        range);
}

}  // namespace

std::string usageLine(const CLI::App& app, const CLI::ParseError& error)
{
    const CLI::App& command = commandGiven(app);
    return whatIsWrong(app, command, error) + seeHelp(app, command);
}

std::string errorLine(const CLI::App& app, const Error& error)
{
    const CLI::App& command = commandGiven(app);
    if (error.input().starts_with("--"))  // reads as a sentence: "--tubs is 0"
        return error.input() + " " + error.problem() + ". " + error.remedy() + "." + seeHelp(app, command);
    return error.what() + (error.input() == command.get_name() ? seeHelp(app, command) : "");
}

void refuseWhatIsNoValue(CLI::App& app)
{
    for (CLI::App* command : app.get_subcommands([](CLI::App*) { return true; }))
        for (CLI::Option* option : command->get_options([](CLI::Option*) { return true; })) {
            if (option->get_items_expected_max() == 0) continue;
            option->check(CLI::Validator(
                [=](std::string& value) {
                    const bool is_option = isOption(value) && command->get_option_no_throw(value);
                    if (!is_option && !value.empty()) return std::string();
                    return "Give " + kindOf(*option) + (option->get_positional() ? "" : " behind it");
                },
                ""));
        }
}

void refuseNothingBehindEquals(int argc, const char* const* argv)
{
    for (int i = 1; i < argc; ++i) {
        const std::string word = argv[i];
        if (word == "--") return;
        if (word.starts_with("--") && word.find('=') == word.size() - 1)
            throw Error(optionIn(word), "has nothing behind its '='",
                        "Give a value, or leave the option out");
    }
}

CLI::Validator wholeNumber(int low, int high)
{
    return between(low, high, "whole number");
}

CLI::Validator number(double low, double high)
{
    return between(low, high, "number");
}

CLI::Validator oneOf(const std::vector<std::string>& words)
{
    return CLI::Validator(
        [words](std::string& text) {
            text = inSmall(text);
            const bool is_one = std::find(words.begin(), words.end(), text) != words.end();
            return is_one ? "" : "Give " + joined(words, " or ");
        },
        "");
}

}  // namespace slipglass
