#include "slipglass/report/plan_csv.h"

#include <algorithm>
#include <vector>

#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

/// Those that the plan has values in, and the ids, where an end stands beside the start.
std::vector<std::string> columnsOf(const Plan& plan)
{
    std::vector<std::string> columns{"cutting",      "tub",       "position", "variety",
                                     "medium",       "treatment", "stuck_on", "given_up_on",
                                     "potted_up_on", "tub_type",  "note"};
    columns.insert(columns.end(), plan.own_column_names.begin(), plan.own_column_names.end());
    std::erase_if(columns, [&](const std::string& name) {
        return name != "cutting" && name != "tub" &&
               std::all_of(plan.cuttings.begin(), plan.cuttings.end(),
                           [&](const PlannedCutting& row) { return planValue(row, name).empty(); });
    });
    return columns;
}

}  // namespace

std::string planCsv(const Plan& plan)
{
    const std::vector<std::string> columns = columnsOf(plan);
    std::string text = csvRecord(columns);
    for (const PlannedCutting& row : plan.cuttings) {
        std::vector<std::string> fields;
        fields.reserve(columns.size());
        for (const std::string& name : columns) fields.push_back(planValue(row, name));
        text += csvRecord(fields);
    }
    return text;
}

}  // namespace slipglass
