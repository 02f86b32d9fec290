#pragma once
// Private to store: the tables of the season file, and the steps from older ones.
#include "sqlite.h"

namespace slipglass {

// "slip" in ASCII, in the file's header: tells our files from other programs' databases.
constexpr int kApplicationId = 0x736c6970;
constexpr int kSchemaVersion = 7;
/// The oldest that is still read.
constexpr int kOldestVersion = 3;

/// Makes all tables in an empty file.
void makeTables(sqlite::Connection& file);

/// Brings a file from its version to today's. To be called within a transaction.
void stepToToday(sqlite::Connection& file);

}  // namespace slipglass
