#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/said.h"
#include "slipglass/settings.h"

namespace slipglass {

/// How pages are read. Files (CSV, JSON) are English, in mm, with ISO dates, whatever it says.
struct PageSettings {
    std::string language = "en";
    std::string units = "mm";

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit("language", self.language, {"en", "de", "es"},
              "Language of the pages and the calendar: English, German or Spanish. Common practice.");
        visit("units", self.units, {"mm", "inch"}, "Unit in which pages tell lengths. Common practice.");
    }
};

struct Language {
    const char *code, *name;  ///< "de", as its speakers call it
};
/// Those that pages can be read in.
const std::vector<Language>& languages();

/// The program's words in one language. A value: passed to whoever writes pages.
class Words {
public:
    explicit Words(const PageSettings& settings = {});

    /// A sentence by its English, a literal.
    std::string operator()(const char* english, const std::vector<SaidPlace>& places = {}) const;
    /// A word that other languages say in more than one way; translators see the sense.
    std::string inSense(const char* sense, const char* english) const;
    /// A sentence where it counts: {n} is `count`.
    std::string numbered(long long count, const char* one, const char* many,
                         const std::vector<SaidPlace>& places = {}) const;
    std::string say(const Said& said) const;
    std::string say(const Text& text) const;
    /// A sentence that is kept in English, where it is one of ours; else as it is.
    std::string kept(const std::string& english) const;

    /// "24 Feb 2026" and "24 Feb".
    std::string day(Date day) const;
    std::string shortDay(Date day) const;
    /// With the language's decimal mark; "" when not known.
    std::string number(std::optional<double> value, int decimals) const;
    /// "8 mm". In inches with one decimal more, below one inch with two; two at most.
    std::string length(double mm, int decimals) const;
    /// The number alone, in the reader's unit.
    std::string lengthNumber(std::optional<double> mm, int decimals) const;
    /// "7 to 8" -> "7 to 8 mm".
    std::string withUnit(const std::string& number) const;
    /// "mm".
    std::string unit() const;
    /// "224 mm²".
    std::string area(double mm2) const;
    /// Of one of the reader's units.
    double mmPerUnit() const;

    /// Each {{#t}}...{{/t}} of a page's skeleton in the language.
    std::string inSkeleton(const std::string& skeleton) const;
    /// What a script says by t("..."), as a JSON object from English; "" where all of it is English.
    std::string ofScript(const std::string& script) const;

    const std::string& language() const { return language_; }

private:
    friend std::string english(const Said&);
    struct Catalogue;
    std::string found(const char* english) const;
    std::string valueOf(const SaidPlace& place) const;
    std::string filled(const std::string& text, const std::vector<SaidPlace>& places) const;

    std::string language_;
    bool inches_ = false;
    bool for_files_ = false;
    std::shared_ptr<const Catalogue> catalogue_;  ///< null: English
};

}  // namespace slipglass
