// Streams of strings, and getline, take no memory for an end: half a page is written, half a list is read,
// and nobody is told.
#include <gtest/gtest.h>

#include <regex>

#include "../support/scratch_folder.h"
#include "source_files.h"

namespace slipglass {
namespace {

TEST(House, NothingIsReadOrWrittenByStreamsOfStrings)
{
    const std::regex stream("stringstream|getline");
    const auto files = test::sourceFiles();
    EXPECT_GT(files.size(), 200U);
    for (const auto& file : files) EXPECT_FALSE(std::regex_search(test::readBytes(file), stream)) << file;
}

}  // namespace
}  // namespace slipglass
