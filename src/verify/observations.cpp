#include <algorithm>
#include <charconv>
#include <map>

#include "slipglass/error.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/figures.h"
#include "slipglass/verify/verify.h"

namespace slipglass {

namespace {

/// Text of a column in one row; "" when the file has no such column or the row ends before it.
class Row {
public:
    Row(const std::map<std::string, size_t>& columns, const CsvRecord& record)
        : columns_(columns), record_(record)
    {
    }

    std::string operator[](const std::string& column) const
    {
        const auto at = columns_.find(column);
        return at == columns_.end() || at->second >= record_.fields.size() ? "" : record_.fields[at->second];
    }
    int line() const { return record_.line; }

private:
    const std::map<std::string, size_t>& columns_;
    const CsvRecord& record_;
};

[[noreturn]] void badCell(const std::string& file, const Row& row, const std::string& column,
                          const std::string& wanted)
{
    throw Error(file + ", line " + std::to_string(row.line()),
                column + " is '" + row[column] + "', not " + wanted, "Let `measure` write the file anew");
}

std::optional<double> numberOf(const Row& row, const std::string& column, const std::string& file)
{
    const std::string text = row[column];
    if (text.empty()) return std::nullopt;
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size()) badCell(file, row, column, "a number");
    return finite(value);
}

std::optional<bool> yesNoOf(const Row& row, const std::string& column, const std::string& file)
{
    std::string text = row[column];
    std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
    if (text.empty()) return std::nullopt;
    if (text == "true" || text == "yes" || text == "1") return true;
    if (text == "false" || text == "no" || text == "0") return false;
    badCell(file, row, column, "true or false");
}

Observation observationOf(const Row& row, const std::string& file)
{
    Observation seen;
    seen.photo = row["photo"];
    seen.tub = row["tub"];
    const auto state = parseState(row["state"]);
    if (!state && !row["state"].empty()) badCell(file, row, "state", "measured, caution or retake");
    seen.state = state.value_or(State::measured);
    for (const Figure& figure : kFigures) seen.*figure.value = numberOf(row, figure.name, file);
    seen.standing_water = yesNoOf(row, "standing_water", file);
    return seen;
}

}  // namespace

std::vector<Observation> readObservations(const std::filesystem::path& csv)
{
    const auto records = readCsvFile(csv);
    std::map<std::string, size_t> columns;
    if (!records.empty())
        for (size_t c = 0; c < records[0].fields.size(); ++c) columns.emplace(records[0].fields[c], c);
    if (!columns.contains("photo"))
        throw Error(csv.string(), "has no column 'photo'", "Name a folder that `measure` wrote");
    std::vector<Observation> rows;
    for (size_t r = 1; r < records.size(); ++r)
        rows.push_back(observationOf(Row(columns, records[r]), csv.string()));
    return rows;
}

}  // namespace slipglass
