// Streams of strings, and getline, take no memory for an end: half a page is written, half a list is read,
// and nobody is told.
#include <gtest/gtest.h>

#include <filesystem>
#include <regex>

#include "../support/scratch_folder.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

TEST(House, NothingIsReadOrWrittenByStreamsOfStrings)
{
    const fs::path root = fs::path(SLIPGLASS_SAMPLES).parent_path();
    const std::regex stream("stringstream|getline");
    int looked_at = 0;
    for (const char* folder : {"src", "include"})
        for (const auto& entry : fs::recursive_directory_iterator(root / folder)) {
            if (entry.path().extension() != ".cpp" && entry.path().extension() != ".h") continue;
            ++looked_at;
            EXPECT_FALSE(std::regex_search(test::readBytes(entry.path()), stream)) << entry.path();
        }
    EXPECT_GT(looked_at, 200);
}

}  // namespace
}  // namespace slipglass
