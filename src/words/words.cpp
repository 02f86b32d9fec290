#include "slipglass/words.h"

#include <algorithm>
#include <array>
#include <boost/locale/gnu_gettext.hpp>
#include <boost/locale/message.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "kept_sentences.h"
#include "slipglass/text.h"
#include "translations.h"

namespace slipglass {

namespace {

constexpr double kMmPerInch = 25.4;
constexpr const char* kBegin = "{{#t}}";
constexpr const char* kEnd = "{{/t}}";

const char* monthOf(Date day)
{
    static constexpr std::array kMonths{translated("Jan"), translated("Feb"), translated("Mar"),
                                        translated("Apr"), translated("May"), translated("Jun"),
                                        translated("Jul"), translated("Aug"), translated("Sep"),
                                        translated("Oct"), translated("Nov"), translated("Dec")};
    return kMonths[static_cast<unsigned>(day.month()) - 1];
}

}  // namespace

const std::vector<Language>& languages()
{
    static const std::vector<Language> all{{"en", "English"}, {"de", "Deutsch"}, {"es", "Español"}};
    return all;
}

struct Words::Catalogue {
    using Messages = boost::locale::message_format<char>;
    std::locale holds;

    /// Null where there is no translation.
    const char* of(const char* english, const char* sense = nullptr) const
    {
        return std::use_facet<Messages>(holds).get(0, sense, english);
    }
    const char* of(const char* one, long long n) const
    {
        return std::use_facet<Messages>(holds).get(0, nullptr, one,
                                                   static_cast<int>(std::clamp(n, 0LL, 1000000LL)));
    }
};

Words::Words(const PageSettings& settings) : language_(settings.language), inches_(settings.units == "inch")
{
    const std::string_view bytes = translations(language_);
    if (bytes.empty()) return;
    boost::locale::gnu_gettext::messages_info info;
    info.language = language_;
    info.encoding = "UTF-8";
    info.domains.emplace_back("slipglass");
    info.paths.emplace_back("");
    info.callback = [bytes](const std::string& file, const std::string&) {
        return file.find("/LC_MESSAGES/") == std::string::npos
                   ? std::vector<char>()
                   : std::vector<char>(bytes.begin(), bytes.end());
    };
    // The locale is no more than what owns its facet: nothing is taken from the environment.
    catalogue_ = std::make_shared<Catalogue>(Catalogue{
        std::locale(std::locale::classic(), boost::locale::gnu_gettext::create_messages_facet<char>(info))});
}

std::string Words::found(const char* english) const
{
    const char* here = catalogue_ ? catalogue_->of(english) : nullptr;
    return here ? here : english;
}

std::string Words::valueOf(const SaidPlace& place) const
{
    switch (place.is) {
        case SaidPlace::Is::text:
            break;
        case SaidPlace::Is::date:
            return for_files_ ? isoDate(place.date) : day(place.date);
        case SaidPlace::Is::length:
            return length(place.value, place.decimals);
        case SaidPlace::Is::bare_length:
            return lengthNumber(place.value, place.decimals);
        case SaidPlace::Is::number:
            return number(place.value, place.decimals);
        case SaidPlace::Is::kept:
            return kept(place.text);
        case SaidPlace::Is::sentences:
            return say(place.sentences);
    }
    return place.text;
}

std::string Words::filled(const std::string& text, const std::vector<SaidPlace>& places) const
{
    std::string result;
    for (size_t at = 0; at < text.size();) {
        const auto place = std::find_if(places.begin(), places.end(), [&](const SaidPlace& one) {
            const std::string_view name = one.name;
            return text[at] == '{' && text.compare(at + 1, name.size(), name) == 0 &&
                   text.compare(at + 1 + name.size(), 1, "}") == 0;
        });
        if (place == places.end()) {
            result += text[at++];
        } else {
            result += valueOf(*place);
            at += std::string_view(place->name).size() + 2;
        }
    }
    return result;
}

std::string Words::operator()(const char* english, const std::vector<SaidPlace>& places) const
{
    return filled(found(english), places);
}

std::string Words::inSense(const char* sense, const char* english) const
{
    const char* here = catalogue_ ? catalogue_->of(english, sense) : nullptr;
    return here ? here : english;
}

std::string Words::numbered(long long count, const char* one, const char* many,
                            const std::vector<SaidPlace>& places) const
{
    const char* here = catalogue_ ? catalogue_->of(one, count) : nullptr;
    std::vector<SaidPlace> all = places;
    all.push_back({"n", std::to_string(count)});
    return filled(here ? here : count == 1 ? one : many, all);
}

std::string Words::say(const Said& said) const
{
    return said.many ? numbered(said.count, said.english, said.many, said.places)
                     : (*this)(said.english, said.places);
}

std::string Words::say(const Text& text) const
{
    std::vector<std::string> parts;
    for (const Said& said : text) parts.push_back(say(said));
    return joined(parts, "; ");
}

std::string Words::kept(const std::string& english) const
{
    if (!catalogue_ && !inches_) return english;
    if (const std::optional<Said> all = keptSentence(english)) return say(*all);
    // Several, one after the other.
    const size_t end = english.find("; ");
    if (end == std::string::npos) return english;
    const std::optional<Said> first = keptSentence(english.substr(0, end));
    return (first ? say(*first) : english.substr(0, end)) + "; " + kept(english.substr(end + 2));
}

std::string Words::shortDay(Date day) const
{
    return (*this)(translated("{day} {month}"), {{"day", std::to_string(static_cast<unsigned>(day.day()))},
                                                 {"month", found(monthOf(day))}});
}

std::string Words::day(Date day) const
{
    return (*this)(translated("{day} {month} {year}"),
                   {{"day", std::to_string(static_cast<unsigned>(day.day()))},
                    {"month", found(monthOf(day))},
                    {"year", std::to_string(static_cast<int>(day.year()))}});
}

std::string Words::number(std::optional<double> value, int decimals) const
{
    std::string text = figureText(value, decimals);
    const size_t point = text.find('.');
    if (point == std::string::npos) return text;
    const std::string sample = found(translated("0.5"));  // with the language's decimal mark
    return text.replace(point, 1, sample.substr(1, sample.size() - 2));
}

double Words::mmPerUnit() const
{
    return inches_ ? kMmPerInch : 1;
}

std::string Words::lengthNumber(std::optional<double> mm, int decimals) const
{
    if (!mm) return {};
    if (!inches_) return number(mm, decimals);
    const double inches = *mm / kMmPerInch;
    return number(inches, std::min(2, decimals + (std::abs(inches) < 1 ? 2 : 1)));
}

std::string Words::length(double mm, int decimals) const
{
    return withUnit(lengthNumber(mm, decimals));
}

std::string Words::withUnit(const std::string& number) const
{
    return number + " " + unit();
}

std::string Words::unit() const
{
    return found(inches_ ? translated("in") : translated("mm"));
}

std::string Words::area(double mm2) const
{
    const double square = mmPerUnit() * mmPerUnit();
    return number(mm2 / square, inches_ ? 2 : 0) + " " + unit() + "²";
}

std::string Words::inSkeleton(const std::string& skeleton) const
{
    const size_t begin_size = std::string_view(kBegin).size(), end_size = std::string_view(kEnd).size();
    std::string result;
    size_t from = 0;
    for (size_t at = skeleton.find(kBegin); at != std::string::npos; at = skeleton.find(kBegin, from)) {
        const size_t text = at + begin_size, end = skeleton.find(kEnd, text);
        result.append(skeleton, from, at - from);
        result += found(skeleton.substr(text, end - text).c_str());
        from = end + end_size;
    }
    return result + skeleton.substr(from);
}

std::string Words::ofScript(const std::string& script) const
{
    if (!catalogue_) return {};
    static const std::regex call(R"re(\bt\(("(?:[^"\\]|\\.)*"))re");
    nlohmann::json table = nlohmann::json::object();
    for (std::sregex_iterator it(script.begin(), script.end(), call), end; it != end; ++it) {
        const std::string english = nlohmann::json::parse((*it)[1].str());
        table[english] = found(english.c_str());
    }
    std::string text = table.dump();
    for (size_t at = text.find('<'); at != std::string::npos; at = text.find('<', at))
        text.replace(at, 1, "\\u003c");  // so that no text ends the script element
    return text;
}

std::string english(const Said& said)
{
    Words words;
    words.for_files_ = true;
    return words.say(said);
}

std::string english(const Text& text)
{
    std::vector<std::string> parts;
    for (const Said& said : text) parts.push_back(english(said));
    return joined(parts, "; ");
}

}  // namespace slipglass
