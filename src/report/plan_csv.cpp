#include "slipglass/report/plan_csv.h"

#include <algorithm>
#include <vector>

#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

struct Column {
    std::string name;
    std::vector<std::string> values;  ///< one a cutting
    bool always = false;
};

template <class ValueOf>
Column columnOf(const std::string& name, const Plan& plan, ValueOf valueOf, bool always = false)
{
    Column column{name, {}, always};
    for (const PlannedCutting& row : plan.cuttings) column.values.push_back(valueOf(row));
    return column;
}

std::vector<Column> columnsOf(const Plan& plan)
{
    const auto text = [&](const char* name, std::string PlannedCutting::*field, bool always = false) {
        return columnOf(
            name, plan, [&](const PlannedCutting& row) { return row.*field; }, always);
    };
    std::vector<Column> columns{
        text("cutting", &PlannedCutting::cutting, true), text("tub", &PlannedCutting::tub, true),
        text("position", &PlannedCutting::position),     text("variety", &PlannedCutting::variety),
        text("medium", &PlannedCutting::medium),         text("treatment", &PlannedCutting::treatment)};
    const auto date = [&](const char* name, std::optional<Date> PlannedCutting::*field) {
        return columnOf(name, plan, [&](const PlannedCutting& row) {
            return row.*field ? isoDate(*(row.*field)) : std::string();
        });
    };
    columns.push_back(date("stuck_on", &PlannedCutting::stuck_on));
    columns.push_back(date("given_up_on", &PlannedCutting::given_up_on));
    columns.push_back(date("potted_up_on", &PlannedCutting::potted_up_on));
    columns.push_back(text("tub_type", &PlannedCutting::tub_type));
    columns.push_back(text("note", &PlannedCutting::note));
    for (const std::string& name : plan.own_column_names)
        columns.push_back(columnOf(name, plan, [&](const PlannedCutting& row) {
            const auto own = row.own_columns.find(name);
            return own == row.own_columns.end() ? std::string() : own->second;
        }));
    std::erase_if(columns, [](const Column& column) {
        return !column.always && std::all_of(column.values.begin(), column.values.end(),
                                             [](const std::string& value) { return value.empty(); });
    });
    return columns;
}

}  // namespace

std::string planCsv(const Plan& plan)
{
    const std::vector<Column> columns = columnsOf(plan);
    std::vector<std::string> fields;
    for (const Column& column : columns) fields.push_back(column.name);
    std::string text = csvRecord(fields);
    for (size_t row = 0; row < plan.cuttings.size(); ++row) {
        fields.clear();
        for (const Column& column : columns) fields.push_back(column.values[row]);
        text += csvRecord(fields);
    }
    return text;
}

}  // namespace slipglass
