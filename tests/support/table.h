#pragma once
// Reference tables of tests/data by column name.
#include <filesystem>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include "slipglass/season/csv.h"

namespace slipglass::test {

/// One row of a table: column name to text.
using Row = std::map<std::string, std::string>;

inline std::vector<Row> tableOf(const std::filesystem::path& csv)
{
    const auto records = readCsvFile(csv);
    std::vector<Row> rows;
    for (size_t r = 1; r < records.size(); ++r) {
        Row row;
        for (size_t c = 0; c < records[0].fields.size(); ++c)
            row[records[0].fields[c]] = records[r].fields.at(c);
        rows.push_back(std::move(row));
    }
    if (rows.empty()) throw std::runtime_error(csv.string() + " has no rows");
    return rows;
}

inline std::vector<Row> referenceTable(const std::string& name)
{
    return tableOf(std::filesystem::path(SLIPGLASS_TEST_DATA) / "reference" / name);
}

inline double number(const Row& row, const std::string& column)
{
    return std::stod(row.at(column));
}

}  // namespace slipglass::test
