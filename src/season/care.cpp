#include "slipglass/season/care.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "slipglass/error.h"
#include "slipglass/read_file.h"
#include "slipglass/season/csv.h"
#include "slipglass/settings.h"
#include "slipglass/text.h"
#include "spreadsheet.h"

namespace slipglass {

namespace {

struct Word {
    Care what;
    const char* text;
};
constexpr std::array<Word, 7> kWords{{{Care::watered, "watered"},
                                      {Care::tipped_out, "tipped-out"},
                                      {Care::moved, "moved"},
                                      {Care::potted_up, "potted-up"},
                                      {Care::given_up, "given-up"},
                                      {Care::weighed, "weighed"},
                                      {Care::noted, "noted"}}};

const TableForm& careForm()
{
    static const TableForm form{
        {"date", "tub", "what", "amount_ml", "weight_g", "note", "cutting"},
        {{"date", "the day of each row"}, {"tub", "the id of each tub"}, {"what", "what was done"}},
        "a row for each thing done"};
    return form;
}

Care readWhat(const std::string& written, const std::string& where)
{
    std::string plain = inSmall(written);
    for (char& c : plain)
        if (c == ' ' || c == '_') c = '-';
    std::vector<std::string> words;
    std::string all;
    for (const Word& word : kWords) {
        if (plain == word.text) return word.what;
        words.emplace_back(word.text);
        all += (all.empty() ? "" : ", ") + words.back();
    }
    const std::string near = nearestWord(plain, words);
    throw Error(where, "what is '" + written + "', which is not known",
                near.empty() ? "Use one of " + all : "Perhaps '" + near + "' was meant");
}

double readAmount(std::string text, const std::string& column, const std::string& where)
{
    const std::string written = text;
    std::replace(text.begin(), text.end(), ',', '.');  // as spreadsheets of many countries write it
    double value = 0;
    const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
    const bool whole = problem == std::errc() && end == text.data() + text.size();
    if (!whole || !std::isfinite(value) || value <= 0)
        throw Error(where, column + " is '" + written + "', which is not a number above 0",
                    "Write the number alone, like 250, or leave the field empty");
    return value;
}

CareEvent readEvent(const std::vector<std::string>& names, const TableRow& row, const std::string& where)
{
    const auto valueOf = [&](const char* name) {
        const auto at = std::find(names.begin(), names.end(), name);
        return at == names.end() ? std::string() : row.values[static_cast<size_t>(at - names.begin())];
    };
    const auto amountOf = [&](const char* name) {
        const std::string text = valueOf(name);
        return text.empty() ? std::nullopt : std::optional(readAmount(text, name, where));
    };
    CareEvent event;
    event.line = row.line;
    event.date = readDate(valueOf("date"), "date", where);
    event.tub = valueOf("tub");
    if (event.tub.empty()) throw Error(where, "has no tub", "Give the id of the tub");
    event.cutting = valueOf("cutting");
    event.amount_ml = amountOf("amount_ml");
    event.weight_g = amountOf("weight_g");
    event.note = valueOf("note");
    const std::string what = valueOf("what");
    if (what.empty() && !event.weight_g && event.note.empty())
        throw Error(where, "says neither what was done nor a weight nor a note",
                    "Fill the column 'what', for example with watered");
    if (!what.empty())
        event.what = readWhat(what, where);
    else
        event.what = event.weight_g ? Care::weighed : Care::noted;
    if (event.what == Care::weighed && !event.weight_g)
        throw Error(where, "is a weighing without a weight", "Fill the column 'weight_g'");
    return event;
}

bool handled(const CareEvent& event)
{
    return event.what == Care::watered || event.what == Care::tipped_out;
}

}  // namespace

const char* careText(Care what)
{
    const auto word =
        std::find_if(kWords.begin(), kWords.end(), [&](const Word& one) { return one.what == what; });
    return word->text;
}

CareLog readCare(const std::filesystem::path& care_csv, Date today)
{
    return parseCare(readFile(care_csv), care_csv.string(), today);
}

CareLog parseCare(const std::string& text, const std::string& file, Date today)
{
    const Table table = parseTable(text, file, careForm());
    CareLog log;
    log.file = file;
    for (const OtherColumn& other : otherColumns(table, careForm()))
        log.warnings.push_back(file + ": the column '" + other.name + "' is not read" +
                               (other.meant.empty() ? "" : "; did you mean '" + other.meant + "'?"));
    for (const TableRow& row : table.rows) {
        const std::string where = lineOf(file, row.line);
        log.events.push_back(readEvent(table.names, row, where));
        const Date date = log.events.back().date;
        if (date > today)
            log.warnings.push_back(where + ": date is " + isoDate(date) +
                                   ", which is still to come; is the year right?");
    }
    std::stable_sort(log.events.begin(), log.events.end(),
                     [](const CareEvent& a, const CareEvent& b) { return a.date < b.date; });
    return log;
}

std::vector<Weighing> weighingsOf(const std::vector<CareEvent>& of_tub)
{
    std::vector<Weighing> all;
    bool handled_since = false;
    for (const CareEvent& event : of_tub) {
        handled_since = handled_since || handled(event);
        if (!event.weight_g) continue;
        Weighing now{event.date, *event.weight_g, std::nullopt, handled_since};
        if (!all.empty() && all.back().date == now.date) {
            now.interrupted = now.interrupted || all.back().interrupted;
            all.pop_back();
        }
        if (!all.empty())
            now.g_per_day = (now.weight_g - all.back().weight_g) / daysBetween(all.back().date, now.date);
        else
            now.interrupted = false;  // there is no change yet
        all.push_back(now);
        handled_since = false;
    }
    return all;
}

bool handledBetween(const std::vector<CareEvent>& of_tub, Date from, Date to)
{
    return std::any_of(of_tub.begin(), of_tub.end(), [&](const CareEvent& event) {
        return handled(event) && from <= event.date && event.date <= to;
    });
}

}  // namespace slipglass
