#pragma once
// Private to store: the little of SQLite's C interface that the season file needs, with errors turned into
// Error.
#include <sqlite3.h>

#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace slipglass::sqlite {

struct Closer {
    void operator()(sqlite3* database) const { sqlite3_close(database); }
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};

class Statement;

/// A text as SQL has it.
std::string quoted(const std::string& text);

/// An open database file.
class Connection {
public:
    /// @param flags  of sqlite3_open_v2. Throws Error naming the file.
    Connection(const std::string& path, int flags);

    void run(const std::string& sql);
    Statement prepare(const std::string& sql);
    /// The first column of the first row.
    int number(const std::string& sql);
    /// What SQLite says of its latest failure, as an Error that names the file and a remedy.
    [[noreturn]] void fail(int code);
    bool isReadOnly() const { return sqlite3_db_readonly(database_.get(), "main") != 0; }
    const std::string& path() const { return path_; }

private:
    std::string path_;
    std::unique_ptr<sqlite3, Closer> database_;
};

/// A prepared statement: bind in order, then step through rows, read columns in order.
class Statement {
public:
    Statement(Connection& connection, sqlite3_stmt* statement)
        : connection_(connection), statement_(statement)
    {
    }

    Statement& text(std::string_view value);
    Statement& blob(std::string_view value);
    Statement& number(std::optional<double> value);
    Statement& whole(std::optional<int> value);
    Statement& large(long long value);
    Statement& nothing() { return whole(std::nullopt); }

    /// True while there is a row.
    bool step();

    std::string readText();  ///< also a blob's bytes
    std::optional<double> readNumber();
    std::optional<int> readWhole();
    long long readLarge();

private:
    void checked(int code);

    Connection& connection_;
    std::unique_ptr<sqlite3_stmt, Closer> statement_;
    int next_bound_ = 0, next_read_ = 0;
};

/// Undone unless committed, also when the program is killed.
class Transaction {
public:
    explicit Transaction(Connection& connection) : connection_(connection)
    {
        connection_.run("BEGIN IMMEDIATE");
    }
    ~Transaction();
    void commit();
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;

private:
    Connection& connection_;
    bool open_ = true;
};

}  // namespace slipglass::sqlite
