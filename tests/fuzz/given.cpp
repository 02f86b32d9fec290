#include "slipglass/overview/given.h"
#include "readers.h"
#include "slipglass/corrections/correction.h"
#include "slipglass/observe.h"
#include "slipglass/season/care.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/plan.h"

namespace slipglass::fuzz {

void plan(Bytes file)
{
    const std::string text(textOf(file));
    mayRefuse([&] {
        for (const CsvRecord& record : parseSpreadsheetCsv(text, "batch.csv")) {
            const std::string names = csvRecord(std::vector<std::string>(record.fields.size() + 1, "x"));
            const auto again = parseSpreadsheetCsv(names + csvRecord(record.fields), "again");
            require(again.size() == 2 && again[1].fields == record.fields,
                    "a record that reads otherwise once written");
        }
    });
    mayRefuse([&] {
        for (const PlannedCutting& cutting : parsePlan(text, "batch.csv", kToday).cuttings)
            require(!cutting.tub.empty() && !cutting.cutting.empty(), "a cutting without a tub");
    });
}

void care(Bytes file)
{
    mayRefuse([&] {
        const CareLog log = parseCare(std::string(textOf(file)), "care.csv", kToday);
        for (const CareEvent& event : log.events) {
            require(!event.tub.empty(), "an event without a tub");
            require(event.amount_ml.value_or(1) > 0 && event.weight_g.value_or(1) > 0, "nothing weighed");
        }
        weighingsOf(log.events);
    });
}

void settings(Bytes file)
{
    const std::string text(textOf(file));
    mayRefuse([&] { settingsFrom(text, "settings.json"); });
    withPages(text, "de", "inch");
}

void correction(Bytes file)
{
    mayRefuse([&] {
        const Correction read = parseCorrection(textOf(file), "correction.json");
        const std::string written = correctionText(read);
        require(correctionText(parseCorrection(written, "again")) == written,
                "a correction that reads otherwise once written");
        mayRefuse([&] { checkAgainstPhoto(read, "correction.json", 900, 1200); });
        together(read, read);
    });
    const std::string text(textOf(file));
    parseCorrections({{"T01_2026-01-12.json", text, 0}, {"T01_2026-01-12 (1).json", text, 0}});
}

}  // namespace slipglass::fuzz
