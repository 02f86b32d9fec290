#pragma once
// What another program, or a bad stick, does to a season file.
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>

namespace slipglass::test {

inline void runSql(const std::filesystem::path& file, const char* sql)
{
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file.c_str(), &database), SQLITE_OK);
    EXPECT_EQ(sqlite3_exec(database, sql, nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    sqlite3_close(database);
}

}  // namespace slipglass::test
