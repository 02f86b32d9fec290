#include "slipglass/report/writers.h"
#include "slipglass/season/figures.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

const char* yesNo(bool value)
{
    return value ? "true" : "false";
}

}  // namespace

std::string waterCsv(const SeasonReport& season)
{
    std::string text =
        csvRecord({"tub", "medium", "photos", "photos_standing", "never_dry", "fall_mm_per_day",
                   "fall_at_least", "falls", "waterings", "watered_onto_water", "after_watering",
                   "standing_after_watering", "watered_too_often", "tipped_out", "says"});
    for (const WaterBehaviour& tub : season.water) {
        text +=
            csvRecord({tub.tub, tub.medium, std::to_string(tub.photos), std::to_string(tub.photos_standing),
                       yesNo(tub.never_dry), figureText(tub.fall_mm_per_day, 2),
                       tub.fall_mm_per_day ? yesNo(tub.fall_at_least) : "", std::to_string(tub.falls.size()),
                       std::to_string(tub.waterings), std::to_string(tub.watered_onto_water),
                       std::to_string(tub.after_watering), std::to_string(tub.standing_after_watering),
                       yesNo(tub.watered_too_often), std::to_string(tub.tipped_out), english(tub.says)},
                      season.tables);
    }
    return text;
}

}  // namespace slipglass
