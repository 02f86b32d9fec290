#pragma once
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/season/csv.h"
#include "slipglass/season/series.h"
#include "slipglass/season/standing.h"
#include "slipglass/words.h"

namespace slipglass {

/// Settings that say what is made of the figures: kept with the season, so that every command makes the same
/// of them, and changing one opens no photo.
struct VerdictSettings {
    StandingSettings standing;
    SeasonSettings season;
    FlagSettings flags;
    PageSettings pages;
    TableSettings tables;

    /// By group and name; standing water shares its group with what is measured of water.
    std::vector<SettingField> verdictFields()
    {
        std::vector<SettingField> all;
        appendFields("water", standing, all);
        appendFields("season", season, all);
        appendFields("flags", flags, all);
        appendFields("pages", pages, all);
        appendFields("tables", tables, all);
        return all;
    }
};

}  // namespace slipglass
