#include "slipglass/read_file.h"

#include <gtest/gtest.h>

#include <sys/stat.h>

#include "../support/scratch_folder.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::ScratchFolder;

std::string problemOf(const fs::path& path, std::uintmax_t most = kMostTextBytes)
{
    try {
        readFile(path, most);
        return "";
    } catch (const Error& error) {
        EXPECT_EQ(error.input(), path.string());
        EXPECT_FALSE(error.remedy().empty());
        return error.problem();
    }
}

TEST(ReadFile, GivesEveryByte)
{
    const ScratchFolder scratch;
    const std::string bytes("a\0b\r\n\xff", 6);
    EXPECT_EQ(readFile(scratch.write("file", bytes)), bytes);
    EXPECT_EQ(readFile(scratch.write("empty", "")), "");
    fs::create_symlink(scratch / "file", scratch / "link");
    EXPECT_EQ(readFile(scratch / "link"), bytes);
}

/// /dev/zero never ends, and a pipe that nobody writes into never begins.
TEST(ReadFile, OfWhatIsNoFileSaysSoAtOnce)
{
    const ScratchFolder scratch;
    const std::string no_file = "is a pipe or a device, not a file";
    EXPECT_EQ(problemOf("/dev/zero"), no_file);
    EXPECT_EQ(problemOf("/dev/null"), no_file);
    ASSERT_EQ(mkfifo((scratch / "pipe").c_str(), 0600), 0);
    EXPECT_EQ(problemOf(scratch / "pipe"), no_file);
    EXPECT_EQ(problemOf(scratch.path()), "is a folder, not a file");
    EXPECT_EQ(problemOf(scratch / "none"), "there is no such file");
}

TEST(ReadFile, LooksAtTheSizeFirst)
{
    const ScratchFolder scratch;
    // Takes no room on the disk, and would take more memory than there is.
    fs::resize_file(scratch.write("vast", ""), std::uintmax_t{1} << 42);
    EXPECT_EQ(problemOf(scratch / "vast"),
              "has 4398046 MB, more than the 67 MB that are read of such a file");
    const fs::path three = scratch.write("three", "abc");
    EXPECT_EQ(readFile(three, 3), "abc");
    EXPECT_NE(problemOf(three, 2), "");
}

TEST(Error, OfATextOfAnyLengthCanStillBeRead)
{
    const std::string cell(300000, 'x');
    const Error error("batch.csv, line 2", "the tub type '" + cell + "' is not known",
                      "Use one of pint, quart");
    EXPECT_LT(std::string(error.what()).size(), 1500U);
    EXPECT_EQ(error.problem().find("the tub type 'xxx"), 0U);
    EXPECT_NE(error.problem().find("' is not known"), std::string::npos);
    EXPECT_NE(std::string(error.what()).find("Use one of pint, quart."), std::string::npos);
}

}  // namespace
}  // namespace slipglass
