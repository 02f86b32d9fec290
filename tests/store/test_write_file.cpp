#include <gtest/gtest.h>
#include <sys/resource.h>

#include <csignal>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/store/write_file.h"

namespace slipglass {
namespace {

using test::readBytes;
using test::ScratchFolder;

size_t filesIn(const ScratchFolder& folder)
{
    size_t n = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) n += entry.exists() ? 1 : 0;
    return n;
}

TEST(WriteFile, WritesAllBytesAndMakesFolders)
{
    const ScratchFolder folder;
    const std::string bytes("a\0b\r\n\xFF", 6);
    writeFile(folder / "x/y/z.bin", bytes);
    EXPECT_EQ(readBytes(folder / "x/y/z.bin"), bytes);
}

TEST(WriteFile, ReplacesAFileAndLeavesNothingElseBehind)
{
    const ScratchFolder folder;
    writeFile(folder / "a.csv", "long old content");
    writeFile(folder / "a.csv", "new");
    EXPECT_EQ(readBytes(folder / "a.csv"), "new");
    EXPECT_EQ(filesIn(folder), 1U);
}

TEST(WriteFile, LeavesAFileAloneThatHoldsTheseBytes)
{
    const ScratchFolder folder;
    writeFile(folder / "a.csv", "same");
    const auto then = std::filesystem::last_write_time(folder / "a.csv") - std::chrono::hours(1);
    std::filesystem::last_write_time(folder / "a.csv", then);
    writeFile(folder / "a.csv", "same");
    EXPECT_EQ(std::filesystem::last_write_time(folder / "a.csv"), then);
    writeFile(folder / "a.csv", "diff");
    EXPECT_NE(std::filesystem::last_write_time(folder / "a.csv"), then);
}

TEST(WriteFile, SaysWhenTheFolderCannotBeMadeOrTheNameIsAFolder)
{
    const ScratchFolder folder;
    folder.write("file", "x");
    std::filesystem::create_directories(folder / "taken");
    EXPECT_THROW(writeFile(folder / "file/below.csv", "x"), Error);
    EXPECT_THROW(writeFile(folder / "taken", "x"), Error);
    EXPECT_EQ(filesIn(folder), 2U);
}

/// Tries to write more than fits, and tells why it cannot on stderr. Ends the process.
[[noreturn]] void writeTooMuch(const std::filesystem::path& file)
{
    // A limit on the size of files stands in for a full disk: both end a write early.
    constexpr rlimit kSmall{4096, 4096};
    std::signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &kSmall);
    try {
        writeFile(file, std::string(100000, 'x'));
        std::_Exit(0);
    } catch (const Error& error) {
        std::fputs(error.what(), stderr);
        std::_Exit(3);
    }
}

TEST(WriteFile, KeepsTheOldFileWhenTheDiskIsFull)
{
    const ScratchFolder folder;
    writeFile(folder / "a.csv", "old");
    EXPECT_EXIT(writeTooMuch(folder / "a.csv"), ::testing::ExitedWithCode(3),
                "a.csv: cannot be written: File too large");
    EXPECT_EQ(readBytes(folder / "a.csv"), "old");
    EXPECT_EQ(filesIn(folder), 1U);
}

}  // namespace
}  // namespace slipglass
