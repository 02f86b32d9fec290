#pragma once
#include <string>
#include <utility>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

// What is to be said, in no language yet: words.h says it.

/// A length, told in the reader's unit.
struct Mm {
    double value;
    int decimals = 0;
};

/// The same without its unit, where another stands beside it.
struct BareMm {
    double value;
    int decimals = 0;
};

struct Number {
    double value;
    int decimals = 0;
};

/// A sentence of the season file, where it is kept in English.
struct Kept {
    std::string english;
};

struct Said;
/// Sentences and parts of them; told one after the other, with "; " between.
using Text = std::vector<Said>;

/// What stands in a place of a sentence.
struct SaidPlace {
    SaidPlace(const char* name, std::string text);
    SaidPlace(const char* name, const char* text);
    SaidPlace(const char* name, Date date);
    SaidPlace(const char* name, Mm length);
    SaidPlace(const char* name, BareMm length);
    SaidPlace(const char* name, Number number);
    SaidPlace(const char* name, Kept sentence);
    SaidPlace(const char* name, Text sentences);

    enum class Is { text, date, length, bare_length, number, kept, sentences };
    const char* name;
    Is is;
    std::string text{};
    Date date{};
    double value = 0;
    int decimals = 0;
    Text sentences;
};

/// A whole sentence, so that a translation may put its places in another order.
struct Said {
    const char* english = "";    ///< a literal, with {places}: what translations are found by
    const char* many = nullptr;  ///< the same for more or less than one, where it counts
    long long count = 0;         ///< how many: {n}
    std::vector<SaidPlace> places{};
};

// xgettext finds what stands in these (src/words/translations/extract).

Said said(const char* english, std::vector<SaidPlace> places = {});
Said saidOf(long long count, const char* one, const char* many, std::vector<SaidPlace> places = {});
/// Of a word in a table, which is said elsewhere.
constexpr const char* translated(const char* english)
{
    return english;
}

/// As the files have it: English, mm, ISO dates.
std::string english(const Said& said);
std::string english(const Text& text);

}  // namespace slipglass
