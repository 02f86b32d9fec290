#include "slipglass/season/plan.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <set>

#include "slipglass/error.h"
#include "slipglass/read_file.h"
#include "slipglass/season/csv.h"
#include "slipglass/text.h"
#include "spreadsheet.h"

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
constexpr int kMostCuttings = 3;  // a tub of a litre or a gallon holds no more

std::string inCapitals(std::string text)
{
    for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    return text;
}

const TableForm& planForm()
{
    static const TableForm form = [] {
        TableForm made{{}, {{"tub", "the id of each tub"}}, "a row per cutting"};
        for (const auto& column : kTextColumns) made.known.emplace_back(column.name);
        for (const auto& column : kDateColumns) made.known.emplace_back(column.name);
        return made;
    }();
    return form;
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
template <class Columns>
const typename Columns::value_type* columnOf(const Columns& table, const std::string& name)
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

void noteOwnColumns(const Table& table, const std::string& file, Plan& plan)
{
    for (const OtherColumn& own : otherColumns(table, planForm())) {
        plan.own_column_names.push_back(own.name);
        if (!own.meant.empty()) plan.warnings.push_back(ownColumnWarning(file, own.name, own.meant));
    }
}

}  // namespace

Plan readPlan(const std::filesystem::path& batch_csv, Date today)
{
    return parsePlan(readFile(batch_csv), batch_csv.string(), today);
}

Plan parsePlan(const std::string& text, const std::string& file, Date today)
{
    const Table table = parseTable(text, file, planForm());
    Plan plan;
    noteOwnColumns(table, file, plan);
    RowsSoFar rows;
    for (const auto& [line, values] : table.rows) {
        PlannedCutting row = readCutting(table.names, values, lineOf(file, line));
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

std::string stuckOnNote(const Plan& plan, const std::string& file)
{
    const auto without = std::count_if(plan.cuttings.begin(), plan.cuttings.end(),
                                       [](const PlannedCutting& row) { return !row.stuck_on; });
    if (without == 0) return "";
    const auto all = static_cast<long long>(plan.cuttings.size());
    const std::string which = without == all
                                  ? "no cutting has"
                                  : std::to_string(without) + " of " + counted(all, "cutting", "cuttings") +
                                        (without == 1 ? " has no" : " have no");
    return file + ": " + which +
           " stuck_on, the day it was put into the medium. Days since sticking and days to strike stay empty "
           "there, and age counts from the first photo, until you fill it in and give the plan with --batch.";
}

const std::vector<std::string>& planColumns()
{
    return planForm().known;
}

std::string planValue(const PlannedCutting& cutting, const std::string& column)
{
    if (const TextColumn* text = columnOf(kTextColumns, column)) return cutting.*(text->field);
    if (const DateColumn* date = columnOf(kDateColumns, column))
        return cutting.*(date->field) ? isoDate(*(cutting.*(date->field))) : "";
    const auto own = cutting.own_columns.find(column);
    return own == cutting.own_columns.end() ? "" : own->second;
}

}  // namespace slipglass
