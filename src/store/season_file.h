#pragma once
// Private to store: a season file opened, checked, and brought up to date.
#include <filesystem>

#include "slipglass/store/season_store.h"
#include "sqlite.h"

namespace slipglass {

/// As SeasonStore's constructor says it: makes an empty one when it is to be written and there is none.
sqlite::Connection openSeasonFile(const std::filesystem::path& season_db, SeasonStore::Use use);

}  // namespace slipglass
