#include "sqlite.h"

#include "slipglass/error.h"

namespace slipglass::sqlite {

namespace {

constexpr int kWaitForOthersMs = 10'000;  // a reader or writer elsewhere holds the file for milliseconds

const char* remedyFor(int code)
{
    switch (code & 0xff) {
        case SQLITE_NOTADB:
            return "It is not a season file: choose another folder, or move the file away";
        case SQLITE_CORRUPT:
            return "Run 'slipglass measure' again with --rescue, which saves what can "
                   "still "
                   "be read and keeps the damaged file beside it";
        case SQLITE_NOMEM:
            return "Close other programs, then run again; what was measured before is kept";
        case SQLITE_FULL:
            return "Make room on the disk, then run again; what was measured before is kept";
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return "Another program is using it: let it end, then run again";
        case SQLITE_READONLY:
        case SQLITE_CANTOPEN:
        case SQLITE_PERM:
        case SQLITE_AUTH:
            return "Check that the folder exists and that you may write to it";
        default:
            return "Check the disk and its free space, then run again";
    }
}

}  // namespace

std::string quoted(const std::string& text)
{
    std::string sql = "'";
    for (const char c : text) sql += c == '\'' ? std::string("''") : std::string(1, c);
    return sql + "'";
}

Connection::Connection(const std::string& path, int flags) : path_(path)
{
    sqlite3* database = nullptr;
    const int code = sqlite3_open_v2(path.c_str(), &database, flags | SQLITE_OPEN_FULLMUTEX, nullptr);
    database_.reset(database);
    if (code != SQLITE_OK) fail(code);
    sqlite3_busy_timeout(database, kWaitForOthersMs);
}

void Connection::fail(int code)
{
    std::string problem = sqlite3_errstr(code);
    if (database_ && sqlite3_errcode(database_.get()) == (code & 0xff))
        problem = sqlite3_errmsg(database_.get());
    const bool damaged = (code & 0xff) == SQLITE_CORRUPT;
    throw RunError(path_,
                   (damaged ? "the season file is damaged: " : "the season file cannot be used: ") + problem,
                   remedyFor(code));
}

void Connection::run(const std::string& sql)
{
    const int code = sqlite3_exec(database_.get(), sql.c_str(), nullptr, nullptr, nullptr);
    if (code != SQLITE_OK) fail(code);
}

Statement Connection::prepare(const std::string& sql)
{
    sqlite3_stmt* statement = nullptr;
    const int code = sqlite3_prepare_v2(database_.get(), sql.c_str(), -1, &statement, nullptr);
    if (code != SQLITE_OK) fail(code);
    return {*this, statement};
}

int Connection::number(const std::string& sql)
{
    Statement query = prepare(sql);
    return query.step() ? query.readWhole().value_or(0) : 0;
}

void Statement::checked(int code)
{
    if (code != SQLITE_OK) connection_.fail(code);
}

Statement& Statement::text(std::string_view value)
{
    checked(sqlite3_bind_text64(statement_.get(), ++next_bound_, value.data() ? value.data() : "",
                                value.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
    return *this;
}

Statement& Statement::blob(std::string_view value)
{
    checked(sqlite3_bind_blob64(statement_.get(), ++next_bound_, value.data() ? value.data() : "",
                                value.size(), SQLITE_TRANSIENT));
    return *this;
}

Statement& Statement::number(std::optional<double> value)
{
    ++next_bound_;
    checked(value ? sqlite3_bind_double(statement_.get(), next_bound_, *value)
                  : sqlite3_bind_null(statement_.get(), next_bound_));
    return *this;
}

Statement& Statement::whole(std::optional<int> value)
{
    ++next_bound_;
    checked(value ? sqlite3_bind_int(statement_.get(), next_bound_, *value)
                  : sqlite3_bind_null(statement_.get(), next_bound_));
    return *this;
}

Statement& Statement::large(long long value)
{
    checked(sqlite3_bind_int64(statement_.get(), ++next_bound_, value));
    return *this;
}

bool Statement::step()
{
    next_read_ = 0;
    const int code = sqlite3_step(statement_.get());
    if (code != SQLITE_ROW && code != SQLITE_DONE) connection_.fail(code);
    return code == SQLITE_ROW;
}

std::string Statement::readText()
{
    const int column = next_read_++;
    const void* bytes = sqlite3_column_blob(statement_.get(), column);
    const auto size = static_cast<size_t>(sqlite3_column_bytes(statement_.get(), column));
    return bytes == nullptr ? std::string() : std::string(static_cast<const char*>(bytes), size);
}

std::optional<double> Statement::readNumber()
{
    const int column = next_read_++;
    if (sqlite3_column_type(statement_.get(), column) == SQLITE_NULL) return std::nullopt;
    return sqlite3_column_double(statement_.get(), column);
}

std::optional<int> Statement::readWhole()
{
    const int column = next_read_++;
    if (sqlite3_column_type(statement_.get(), column) == SQLITE_NULL) return std::nullopt;
    return sqlite3_column_int(statement_.get(), column);
}

long long Statement::readLarge()
{
    return sqlite3_column_int64(statement_.get(), next_read_++);
}

Transaction::~Transaction()
{
    if (!open_) return;
    try {
        connection_.run("ROLLBACK");
    } catch (const Error&) {
        // SQLite has rolled back by itself (full disk), or will when the file is next opened.
    }
}

void Transaction::commit()
{
    connection_.run("COMMIT");
    open_ = false;
}

}  // namespace slipglass::sqlite
