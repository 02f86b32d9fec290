#include "slipglass/season/plan.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <set>

#include "slipglass/error.h"
#include "slipglass/season/csv.h"
#include "slipglass/settings.h"

namespace slipglass {

namespace {

/// A column of batch.csv and where its values go.
struct TextColumn {
    const char* name;
    std::string PlannedCutting::*field;
};
constexpr std::array<TextColumn, 8> kTextColumns{{{"cutting", &PlannedCutting::cutting},
                                                  {"tub", &PlannedCutting::tub},
                                                  {"position", &PlannedCutting::position},
                                                  {"variety", &PlannedCutting::variety},
                                                  {"medium", &PlannedCutting::medium},
                                                  {"treatment", &PlannedCutting::treatment},
                                                  {"tub_type", &PlannedCutting::tub_type},
                                                  {"note", &PlannedCutting::note}}};
struct DateColumn {
    const char* name;
    std::optional<Date> PlannedCutting::*field;
};
constexpr std::array<DateColumn, 3> kDateColumns{{{"stuck_on", &PlannedCutting::stuck_on},
                                                  {"given_up_on", &PlannedCutting::given_up_on},
                                                  {"potted_up_on", &PlannedCutting::potted_up_on}}};
constexpr int kFirstYear = 2000;  // design page: nothing before it can be true
constexpr int kMostCuttings = 3;  // design page: a tub holds one to three

std::string lineOf(const std::string& file, int line)
{
    return file + ", line " + std::to_string(line);
}

std::string inCapitals(std::string text)
{
    for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    return text;
}

std::string trimmed(const std::string& text)
{
    constexpr const char* kBlanks = " \t\r\n";
    const auto first = text.find_first_not_of(kBlanks);
    if (first == std::string::npos) return {};
    return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::vector<std::string> knownColumns()
{
    std::vector<std::string> names;
    names.reserve(kTextColumns.size() + kDateColumns.size());
    for (const auto& column : kTextColumns) names.emplace_back(column.name);
    for (const auto& column : kDateColumns) names.emplace_back(column.name);
    return names;
}

/// "Stuck on" and "stuck-on" are our stuck_on; a name that is not ours stays as the user wrote it.
std::string columnName(const std::string& written)
{
    std::string name = trimmed(written);
    std::string plain = name;
    for (char& c : plain)
        c = c == ' ' || c == '-' ? '_' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    const auto known = knownColumns();
    return std::find(known.begin(), known.end(), plain) != known.end() ? plain : name;
}

bool hasNothing(const CsvRecord& record)
{
    return std::all_of(record.fields.begin(), record.fields.end(),
                       [](const auto& f) { return trimmed(f).empty(); });
}

std::vector<std::string> readHeader(const CsvRecord& record, const std::string& file)
{
    std::vector<std::string> names;
    for (const auto& field : record.fields) names.push_back(columnName(field));
    while (!names.empty() && names.back().empty())
        names.pop_back();  // a spreadsheet's empty columns at the right
    std::set<std::string> seen;
    for (const auto& name : names) {
        if (name.empty())
            throw Error(lineOf(file, record.line), "a column has no name", "Name every column, or remove it");
        if (!seen.insert(name).second)
            throw Error(lineOf(file, record.line), "the column '" + name + "' is there twice",
                        "Rename or remove one");
    }
    if (seen.count("tub") == 0) {
        const std::string near = nearestWord("tub", names);
        throw Error(file, "has no column 'tub'",
                    near.empty() ? "Add a column 'tub' with the id of each tub"
                                 : "Rename the column '" + near + "' to 'tub'");
    }
    return names;
}

/// The record's values, one for each column.
std::vector<std::string> readRow(const CsvRecord& record, size_t columns, const std::string& file)
{
    std::vector<std::string> values;
    for (const auto& field : record.fields) values.push_back(trimmed(field));
    while (values.size() > columns && values.back().empty()) values.pop_back();
    if (values.size() != columns)
        throw Error(lineOf(file, record.line),
                    "has " + std::to_string(values.size()) + " fields where the first line has " +
                        std::to_string(columns),
                    "Put a text that holds the separator inside quotes, and leave no field out");
    return values;
}

Date readDate(const std::string& text, const std::string& column, const std::string& where)
{
    const auto date = parseIsoDate(text);
    if (!date)
        throw Error(where, column + " is '" + text + "', which is not a date as YYYY-MM-DD",
                    "Write it like 2026-01-12; in a spreadsheet, set the column to text first");
    if (static_cast<int>(date->year()) < kFirstYear)
        throw Error(where, column + " is " + text + ", before " + std::to_string(kFirstYear),
                    "Correct the year");
    return *date;
}

/// A cutting leaves its tub after it was stuck.
void checkOrder(const PlannedCutting& row, const std::string& where)
{
    if (!row.stuck_on) return;
    for (const auto& column : kDateColumns) {
        const std::optional<Date>& date = row.*(column.field);
        if (date && *date < *row.stuck_on)
            throw Error(where,
                        std::string(column.name) + " is " + isoDate(*date) + ", before it was stuck on " +
                            isoDate(*row.stuck_on),
                        "Correct one of the two");
    }
}

/// The column of that name; null when the table holds none.
template <class Table>
const typename Table::value_type* columnOf(const Table& table, const std::string& name)
{
    const auto column =
        std::find_if(table.begin(), table.end(), [&](const auto& one) { return name == one.name; });
    return column == table.end() ? nullptr : &*column;
}

PlannedCutting readCutting(const std::vector<std::string>& names, const std::vector<std::string>& values,
                           const std::string& where)
{
    PlannedCutting row;
    for (size_t i = 0; i < names.size(); ++i) {
        if (const auto* text = columnOf(kTextColumns, names[i])) {
            row.*(text->field) = values[i];
        } else if (const auto* date = columnOf(kDateColumns, names[i])) {
            if (!values[i].empty()) row.*(date->field) = readDate(values[i], names[i], where);
        } else {
            row.own_columns[names[i]] = values[i];
        }
    }
    if (row.tub.empty()) throw Error(where, "has no tub", "Give the id of the tub");
    if (row.cutting.empty()) row.cutting = row.tub;
    checkOrder(row, where);
    return row;
}

/// What rows must not say against each other.
class RowsSoFar {
public:
    void add(const PlannedCutting& row, int line, const std::string& file, std::vector<std::string>& warnings)
    {
        const auto [first, is_new] = line_of_cutting_.emplace(row.cutting, line);
        if (!is_new)
            throw Error(
                lineOf(file, line),
                "the cutting '" + row.cutting + "' is on line " + std::to_string(first->second) + " already",
                "Give each cutting its own id in the column 'cutting'");
        auto& type = type_of_tub_[row.tub];
        if (!type.empty() && !row.tub_type.empty() && type != row.tub_type)
            throw Error(
                lineOf(file, line),
                "the tub '" + row.tub + "' is a '" + type + "' above and a '" + row.tub_type + "' here",
                "Give one tub one type");
        if (type.empty()) type = row.tub_type;
        for (const auto& id : std::set<std::string>{row.cutting, row.tub})
            warnOfCapitals(id, line, file, warnings);
        if (++cuttings_in_tub_[row.tub] == kMostCuttings + 1)
            warnings.push_back(lineOf(file, line) + ": the tub '" + row.tub +
                               "' holds more than three cuttings; is that meant?");
    }

private:
    /// Files are named after ids, and a USB stick or Windows takes t01 and T01 for one.
    void warnOfCapitals(const std::string& id, int line, const std::string& file,
                        std::vector<std::string>& warnings)
    {
        const std::string& first = id_in_capitals_.emplace(inCapitals(id), id).first->second;
        if (first != id)
            warnings.push_back(lineOf(file, line) + ": '" + id + "' and '" + first +
                               "' differ in capitals only, and may share files on some disks");
    }

    std::map<std::string, std::string> id_in_capitals_;
    std::map<std::string, int> line_of_cutting_, cuttings_in_tub_;
    std::map<std::string, std::string> type_of_tub_;
};

std::string ownColumnWarning(const std::string& file, const std::string& name, const std::string& near)
{
    return file + ": the column '" + name + "' is kept as your own; did you mean '" + near + "'?";
}

void noteOwnColumns(const std::vector<std::string>& names, const std::string& file, Plan& plan)
{
    const auto known = knownColumns();
    for (const auto& name : names) {
        if (std::find(known.begin(), known.end(), name) != known.end()) continue;
        plan.own_column_names.push_back(name);
        const std::string near = nearestWord(name, known);
        if (!near.empty() && std::find(names.begin(), names.end(), near) == names.end())
            plan.warnings.push_back(ownColumnWarning(file, name, near));
    }
}

}  // namespace

Plan readPlan(const std::filesystem::path& batch_csv, Date today)
{
    return parsePlan(readTextFile(batch_csv), batch_csv.string(), today);
}

Plan parsePlan(const std::string& text, const std::string& file, Date today)
{
    std::vector<CsvRecord> records = parseSpreadsheetCsv(text, file);
    std::erase_if(records, hasNothing);
    if (records.empty())
        throw Error(file, "is empty", "Give a first line with column names, then a row per cutting");

    const std::vector<std::string> names = readHeader(records.front(), file);
    Plan plan;
    noteOwnColumns(names, file, plan);
    RowsSoFar rows;
    for (size_t i = 1; i < records.size(); ++i) {
        const int line = records[i].line;
        PlannedCutting row = readCutting(names, readRow(records[i], names.size(), file), lineOf(file, line));
        rows.add(row, line, file, plan.warnings);
        for (const auto& column : kDateColumns)
            if (const auto& date = row.*(column.field); date && *date > today)
                plan.warnings.push_back(lineOf(file, line) + ": " + column.name + " is " + isoDate(*date) +
                                        ", which is still to come; is the year right?");
        plan.cuttings.push_back(std::move(row));
    }
    if (plan.cuttings.empty())
        throw Error(file, "lists no cuttings", "Add a row per cutting below the column names");
    return plan;
}

}  // namespace slipglass
