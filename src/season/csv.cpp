#include "slipglass/season/csv.h"

#include <csv.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <new>
#include <nlohmann/json.hpp>

#include "slipglass/error.h"
#include "slipglass/read_file.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr const char* kByteOrderMark = "\xEF\xBB\xBF";

/// What libcsv's callbacks fill.
struct Reading {
    std::vector<CsvRecord> records;
    CsvRecord current;
};

void takeField(void* text, size_t size, void* reading)
{
    static_cast<Reading*>(reading)->current.fields.emplace_back(static_cast<const char*>(text), size);
}

void takeRecord(int /*line_end*/, void* reading)
{
    auto& to = *static_cast<Reading*>(reading);
    to.records.push_back(std::move(to.current));
    to.current = {};
}

/// libcsv drops blanks round a field by default; by RFC 4180 they belong to it.
int neverBlank(unsigned char /*c*/)
{
    return 0;
}

struct ParserCloser {
    void operator()(csv_parser* parser) const
    {
        csv_free(parser);
        delete parser;
    }
};

std::unique_ptr<csv_parser, ParserCloser> openParser(char separator)
{
    auto* parser = new csv_parser;
    if (csv_init(parser, CSV_STRICT | CSV_STRICT_FINI) != 0) {
        delete parser;
        throw std::bad_alloc();
    }
    csv_set_delim(parser, static_cast<unsigned char>(separator));
    csv_set_space_func(parser, neverBlank);
    return std::unique_ptr<csv_parser, ParserCloser>(parser);
}

[[noreturn]] void quoteError(const std::string& file_name, int line, const char* what)
{
    throw Error(file_name + ", line " + std::to_string(line), what,
                "Put a field that holds quotes inside quotes, and double each quote within it");
}

bool isUtf8(std::string_view text)
{
    try {
        (void)nlohmann::json(text).dump();  // the JSON library checks every sequence when it writes
        return true;
    } catch (const nlohmann::json::type_error&) {
        return false;
    }
}

/// Whether a spreadsheet runs it, or would but for apostrophes before it.
bool beginsAsFormula(const std::string& field)
{
    const size_t at = field.find_first_not_of('\'');
    return at != std::string::npos && std::string_view("=+-@\t\r").find(field[at]) != std::string_view::npos;
}

bool isNumber(const std::string& field)
{
    double value = 0;
    const char* const end = field.data() + field.size();
    const auto [read, problem] = std::from_chars(field.data(), end, value);
    return problem == std::errc() && read == end && std::isfinite(value);
}

/// Numbers, and a lone dash for "none", do nothing.
std::string asText(const std::string& field)
{
    const bool stays = !beginsAsFormula(field) || field.size() == 1 || isNumber(field);
    return stays ? field : "'" + field;
}

/// What asText made of it, undone.
std::string asBefore(const std::string& field)
{
    return field.starts_with('\'') && beginsAsFormula(field) ? field.substr(1) : field;
}

std::string quoted(const std::string& field)
{
    std::string text(2 * field.size() + 2, '\0');
    text.resize(csv_write(text.data(), text.size(), field.data(), field.size()));
    return text;
}

}  // namespace

std::vector<CsvRecord> parseCsv(std::string_view text, const std::string& file_name, char separator)
{
    const auto parser = openParser(separator);
    Reading reading;
    int line = 1;
    bool after_cr = false;
    // Byte by byte, because libcsv does not say where in the text it is, and an error must name the line.
    for (const char c : text) {
        if (after_cr && c != '\n') ++line;
        if (reading.current.fields.empty() && parser->entry_pos == 0 && parser->quoted == 0)
            reading.current.line = line;
        if (csv_parse(parser.get(), &c, 1, takeField, takeRecord, &reading) != 1) {
            if (csv_error(parser.get()) != CSV_EPARSE) throw std::bad_alloc();
            quoteError(file_name, line, "a quote stands where none may");
        }
        if (c == '\n') ++line;
        after_cr = c == '\r';
    }
    const int last_line = reading.current.line;
    if (csv_fini(parser.get(), takeField, takeRecord, &reading) != 0)
        quoteError(file_name, last_line, "a quote is opened and never closed");
    return std::move(reading.records);
}

char guessSeparator(std::string_view text)
{
    size_t commas = 0, semicolons = 0, tabs = 0;
    bool quoted = false;
    for (const char c : text) {
        if (c == '"') quoted = !quoted;
        if (quoted) continue;
        if (c == '\n' || c == '\r') break;
        commas += c == ',' ? 1 : 0;
        semicolons += c == ';' ? 1 : 0;
        tabs += c == '\t' ? 1 : 0;
    }
    if (semicolons > commas && semicolons >= tabs) return ';';
    return tabs > commas ? '\t' : ',';
}

std::vector<CsvRecord> parseSpreadsheetCsv(std::string text, const std::string& file_name)
{
    if (text.starts_with(kByteOrderMark)) text.erase(0, 3);
    if (text.find('\0') != std::string::npos || !isUtf8(text))
        throw Error(file_name, "is not text in UTF-8", "In the spreadsheet, save it as 'CSV UTF-8'");
    std::vector<CsvRecord> records = parseCsv(text, file_name, guessSeparator(text));
    for (CsvRecord& record : records)
        std::transform(record.fields.begin(), record.fields.end(), record.fields.begin(), asBefore);
    return records;
}

std::vector<CsvRecord> readCsvFile(const std::filesystem::path& path)
{
    return parseSpreadsheetCsv(readFile(path), path.string());
}

std::string csvRecord(const std::vector<std::string>& fields, const TableSettings& tables)
{
    std::string record;
    for (size_t i = 0; i < fields.size(); ++i) {
        if (i > 0) record += ',';
        const std::string valid = validUtf8(fields[i]),
                          field = tables.formulas_as_text ? asText(valid) : valid;
        record += field.find_first_of(",\"\r\n") == std::string::npos ? field : quoted(field);
    }
    if (record.empty() && !fields.empty()) record = quoted("");  // an empty line is no record
    return record + "\r\n";
}

}  // namespace slipglass
