#include <set>

#include "slipglass/in_parallel.h"
#include "slipglass/overview/season_report.h"

namespace slipglass {

namespace {

/// The values of a column of the plan; those that say nothing are left out.
std::multiset<std::string> valuesOf(const SeasonReport& season, const std::string& column)
{
    std::multiset<std::string> values;
    for (const Series& series : season.series) {
        const std::string value = planValue(series.cutting, column);
        if (!value.empty()) values.insert(value);
    }
    return values;
}

}  // namespace

std::vector<Comparison> comparisonsOf(const SeasonReport& season)
{
    bool any_photo = false;
    for (const Series& series : season.series) any_photo |= series.state != StrikeState::no_photos;
    if (!any_photo) return {};
    std::vector<std::string> columns{"variety", "medium", "treatment"};
    columns.insert(columns.end(), season.own_columns.begin(), season.own_columns.end());
    const std::vector<NamedSeason> seasons{{"this season", season.series, season.own_columns}};
    std::vector<std::string> compared;
    for (size_t i = 0; i < columns.size(); ++i) {
        const auto values = valuesOf(season, columns[i]);
        const std::set<std::string> different(values.begin(), values.end());
        const bool is_own = i >= 3;
        if (different.size() < 2 || (is_own && different.size() == values.size())) continue;
        compared.push_back(columns[i]);
    }
    std::vector<Comparison> comparisons(compared.size());
    inParallel(compared.size(), 0, [&](size_t i) {
        comparisons[i] = compare(seasons, {compared[i], std::nullopt});
    });
    return comparisons;
}

}  // namespace slipglass
