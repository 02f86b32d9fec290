#include "spreadsheet.h"

#include <algorithm>
#include <cctype>
#include <set>

#include "slipglass/error.h"
#include "slipglass/season/csv.h"
#include "slipglass/settings.h"
#include "slipglass/text.h"
#include "slipglass/typed_date.h"

namespace slipglass {

namespace {

std::string trimmed(const std::string& text)
{
    constexpr const char* kBlanks = " \t\r\n";
    const auto first = text.find_first_not_of(kBlanks);
    if (first == std::string::npos) return {};
    return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

bool isOneOf(const std::string& name, const std::vector<std::string>& names)
{
    return std::find(names.begin(), names.end(), name) != names.end();
}

/// "Stuck on" and "stuck-on" are our stuck_on; a name that is not ours stays as the user wrote it.
std::string columnName(const std::string& written, const std::vector<std::string>& known)
{
    std::string name = trimmed(written);
    std::string plain = plainColumn(name);
    return isOneOf(plain, known) ? plain : name;
}

bool hasNothing(const CsvRecord& record)
{
    return std::all_of(record.fields.begin(), record.fields.end(),
                       [](const auto& f) { return trimmed(f).empty(); });
}

void requireColumn(const TableForm::Needed& needed, const std::vector<std::string>& names,
                   const std::vector<std::string>& known, const std::string& file)
{
    if (isOneOf(needed.column, names)) return;
    std::vector<std::string> others = names;  // a column of ours was not meant to be another
    std::erase_if(others, [&](const std::string& name) { return isOneOf(name, known); });
    const std::string near = nearestWord(needed.column, others);
    throw Error(file, "has no column '" + needed.column + "'",
                near.empty() ? "Add a column '" + needed.column + "' with " + needed.holds
                             : "Rename the column '" + near + "' to '" + needed.column + "'");
}

std::vector<std::string> readHeader(const CsvRecord& record, const std::string& file, const TableForm& form)
{
    std::vector<std::string> names;
    for (const auto& field : record.fields) names.push_back(columnName(field, form.known));
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
    for (const auto& needed : form.needed) requireColumn(needed, names, form.known, file);
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

}  // namespace

Table parseTable(const std::string& text, const std::string& file, const TableForm& form)
{
    std::vector<CsvRecord> records = parseSpreadsheetCsv(text, file);
    std::erase_if(records, hasNothing);
    if (records.empty())
        throw Error(file, "is empty", "Give a first line with column names, then " + form.row);
    Table table;
    table.names = readHeader(records.front(), file, form);
    for (size_t i = 1; i < records.size(); ++i)
        table.rows.push_back({records[i].line, readRow(records[i], table.names.size(), file)});
    return table;
}

std::vector<OtherColumn> otherColumns(const Table& table, const TableForm& form)
{
    std::vector<OtherColumn> others;
    for (const auto& name : table.names) {
        if (isOneOf(name, form.known)) continue;
        const std::string near = nearestWord(name, form.known);
        others.push_back({name, isOneOf(near, table.names) ? "" : near});
    }
    return others;
}

std::string plainColumn(const std::string& name)
{
    std::string plain = inSmall(name);
    for (char& c : plain)
        if (c == ' ' || c == '-') c = '_';
    return plain;
}

std::string lineOf(const std::string& file, int line)
{
    return file + ", line " + std::to_string(line);
}

Date readDate(const std::string& text, const std::string& column, const std::string& where)
{
    const TypedDate typed = typedDate(text, "; in a spreadsheet, set the column to text first");
    if (!typed.date) throw Error(where, column + " " + typed.problem, typed.remedy);
    return *typed.date;
}

}  // namespace slipglass
