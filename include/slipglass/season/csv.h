#pragma once
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace slipglass {

/// One record of a CSV file.
struct CsvRecord {
    int line = 0;  ///< line of the file it starts on, from 1; a quoted field may span lines
    std::vector<std::string> fields;
};

/// The records of a CSV text by RFC 4180: spaces belong to the field, a doubled quote is one quote. Lines end
/// in CRLF, LF or CR; an empty line is no record. Throws Error naming `file_name` and the line on a stray or
/// unclosed quote.
std::vector<CsvRecord> parseCsv(std::string_view text, const std::string& file_name, char separator = ',');

/// The separator of a file made by a spreadsheet: whichever of ',', ';' and tab stands most often, outside
/// quotes, in the first line; ',' when none does.
char guessSeparator(std::string_view text);

/// How tables are written.
struct TableSettings {
    bool formulas_as_text = true;

    template <class Self, class Visit>
    static void fields(Self& self, Visit&& visit)
    {
        visit(
            "formulas_as_text", self.formulas_as_text,
            "An apostrophe before a text that a spreadsheet would run as a formula. false: as it is. Common "
            "practice.");
    }
};

/// The records of a file's text as spreadsheets write them: byte order mark dropped, separator guessed, and
/// fields as they were before csvRecord made formulas text.
/// Throws Error naming `file_name` when it is not text in UTF-8.
std::vector<CsvRecord> parseSpreadsheetCsv(std::string text, const std::string& file_name);

/// The same for a file. Throws Error also when it cannot be read.
std::vector<CsvRecord> readCsvFile(const std::filesystem::path& path);

/// One record of RFC 4180, ending in CRLF; a field is quoted only when it must be. What is not UTF-8 is
/// written with the replacement character. A text that begins as a formula does, with = + - @ or a tab or CR,
/// gets an apostrophe before it, and so does one that begins with apostrophes and then so; a number stays as
/// it is.
std::string csvRecord(const std::vector<std::string>& fields, const TableSettings& tables = {});

}  // namespace slipglass
