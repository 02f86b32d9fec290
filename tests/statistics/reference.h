#pragma once
// Reads tests/data/reference; README-statistics.md there says where the values come from.
#include <fstream>
#include <limits>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>
#include <vector>

#include "slipglass/season/csv.h"

namespace slipglass {

/// A row of a reference table by column name.
using ReferenceRow = std::map<std::string, std::string>;

inline std::string referencePath(const std::string& name)
{
    return std::string(SLIPGLASS_TEST_DATA "/reference/") + name;
}

inline std::vector<ReferenceRow> referenceTable(const std::string& name)
{
    const auto records = readCsvFile(referencePath(name));
    std::vector<ReferenceRow> rows;
    for (size_t i = 1; i < records.size(); ++i) {
        ReferenceRow row;
        for (size_t c = 0; c < records[0].fields.size(); ++c)
            row[records[0].fields[c]] = records[i].fields.at(c);
        rows.push_back(row);
    }
    if (rows.empty()) throw std::runtime_error(name + " is empty");
    return rows;
}

/// An empty cell is infinite.
inline double number(const ReferenceRow& row, const std::string& column)
{
    const std::string& text = row.at(column);
    return text.empty() ? std::numeric_limits<double>::infinity() : std::stod(text);
}

inline nlohmann::json referenceJson(const std::string& name)
{
    std::ifstream file(referencePath(name));
    return nlohmann::json::parse(file);
}

}  // namespace slipglass
