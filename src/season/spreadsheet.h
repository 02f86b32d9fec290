#pragma once
// Tables that people make in a spreadsheet: a first line with column names, then rows.
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

struct TableRow {
    int line = 0;  ///< of the file, from 1
    std::vector<std::string> values;
};

/// One value in each row for each column; blanks round names and values dropped.
struct Table {
    std::vector<std::string> names;
    std::vector<TableRow> rows;
};

/// What a table is expected to be.
struct TableForm {
    struct Needed {
        std::string column, holds;  ///< "tub", "the id of each tub"
    };
    std::vector<std::string> known;  ///< our column names, in lower case with '_'
    std::vector<Needed> needed;
    std::string row;  ///< what a row is, for messages: "a row per cutting"
};

/// Reads a spreadsheet's table from the text of a CSV file. Our column names are taken in any case, with
/// blanks or '-' for '_'; others stay as written. Rows with nothing in them and empty fields past the last
/// column are dropped.
/// Throws Error, naming file and line, for: no text at all, a needed column missing (nearest one named), a
/// column twice or without a name, a row with more or fewer fields than the first.
Table parseTable(const std::string& text, const std::string& file, const TableForm& form);

/// Columns that are not ours, in file order, each with our name that was probably meant; "" when none was, or
/// when that one is there as well.
struct OtherColumn {
    std::string name, meant;
};
std::vector<OtherColumn> otherColumns(const Table& table, const TableForm& form);

/// A column's name as ours are written, whatever its case, with blanks or '-' for '_'.
std::string plainColumn(const std::string& name);

/// "batch.csv, line 3".
std::string lineOf(const std::string& file, int line);

/// A day typed in the column `column`, as typedDate takes it. Throws Error when it takes none.
Date readDate(const std::string& text, const std::string& column, const std::string& where);

}  // namespace slipglass
