#include "diary.h"

#include <algorithm>

#include "slipglass/error.h"
#include "slipglass/season/csv.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr const char* kFile = "care.csv";

struct Table {
    std::vector<std::string> names;
    std::vector<std::vector<std::string>> rows;
};

Table tableOf(const std::string& text)
{
    Table table;
    for (const CsvRecord& record : parseSpreadsheetCsv(text, kFile)) {
        if (table.names.empty())
            table.names = record.fields;
        else
            table.rows.push_back(record.fields);
    }
    return table;
}

std::string textOf(const Table& table)
{
    std::string text = csvRecord(table.names);
    for (const auto& row : table.rows) text += csvRecord(row);
    return text;
}

/// Without zeros that say nothing.
std::string amountText(const std::optional<double>& amount)
{
    if (!amount) return "";
    std::string text = std::to_string(*amount);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

std::vector<std::pair<std::string, std::string>> fieldsOf(const CareEvent& event)
{
    return {{"date", isoDate(event.date)},
            {"tub", event.tub},
            {"what", careText(event.what)},
            {"amount_ml", amountText(event.amount_ml)},
            {"weight_g", amountText(event.weight_g)},
            {"note", event.note},
            {"cutting", event.cutting}};
}

size_t columnOf(const Table& table, const std::string& name)
{
    return static_cast<size_t>(std::find_if(table.names.begin(), table.names.end(),
                                            [&](const std::string& one) { return inSmall(one) == name; }) -
                               table.names.begin());
}

}  // namespace

std::string withRow(const std::string& text, const CareEvent& event)
{
    Table table = text.empty() ? Table{{"date", "tub", "what", "amount_ml", "note"}, {}} : tableOf(text);
    std::vector<std::string> row(table.names.size());
    for (const auto& [name, value] : fieldsOf(event)) {
        const size_t column = columnOf(table, name);
        if (column < table.names.size()) {
            row[column] = value;
        } else if (!value.empty()) {
            table.names.push_back(name);
            for (auto& other : table.rows) other.emplace_back();
            row.push_back(value);
        }
    }
    table.rows.push_back(row);
    std::string with = textOf(table);
    parseCare(with, kFile, event.date);  // what cannot be read is not written
    return with;
}

std::optional<std::string> withoutRow(const std::string& text, const CareEvent& event)
{
    Table table = tableOf(text);
    // As it is read, not as it is written: a grower's own file has days and words in other forms.
    const auto same = [&](const std::vector<std::string>& row) {
        const CareLog log = parseCare(textOf({table.names, {row}}), kFile, event.date);
        return !log.events.empty() && fieldsOf(log.events.front()) == fieldsOf(event);
    };
    const auto last = std::find_if(table.rows.rbegin(), table.rows.rend(), same);
    if (last == table.rows.rend()) return std::nullopt;
    table.rows.erase(std::next(last).base());
    return textOf(table);
}

CareEvent careFrom(const CareTyped& typed, Date today)
{
    // By the reader of the file, so that one rule says what is right.
    const std::string date = typed.date.empty() ? isoDate(today) : typed.date;
    const std::string text =
        csvRecord({"date", "tub", "what", "amount_ml", "weight_g", "note", "cutting"}) +
        csvRecord({date, typed.tub, typed.what, typed.amount_ml, typed.weight_g, typed.note, typed.cutting});
    try {
        CareEvent event = parseCare(text, kFile, today).events.at(0);
        if (event.date > today)
            throw Error(kFile, isoDate(event.date) + " is still to come", "Write it down when it is done");
        return event;
    } catch (const Error& error) {
        throw Error("Not written down", error.problem(), error.remedy());
    }
}

}  // namespace slipglass
