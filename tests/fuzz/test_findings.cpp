// All that the fuzzers ever found, and what they begin with, read again without them.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <vector>

#include "../support/scratch_folder.h"
#include "readers.h"

/// Where the tests are sanitized: more than a gigabyte at once ends them, as it ends a fuzzer.
extern "C" const char* __asan_default_options()  // NOLINT(bugprone-reserved-identifier): AddressSanitizer's
{
    return "max_allocation_size_mb=1024";
}

namespace slipglass {
namespace {

namespace fs = std::filesystem;

const fs::path kFindings = fs::path(SLIPGLASS_TEST_DATA) / "fuzz-findings",
               kSeeds = fs::path(SLIPGLASS_TEST_DATA).parent_path() / "fuzz" / "seeds";

std::vector<fs::path> filesIn(const fs::path& folder)
{
    std::vector<fs::path> files;
    if (fs::exists(folder))
        for (const auto& entry : fs::directory_iterator(folder)) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    return files;
}

class FuzzReader : public testing::TestWithParam<fuzz::Reader> {};

TEST_P(FuzzReader, BearsWhatWasFoundAndNothingAtAll)
{
    std::vector<fs::path> files = filesIn(kFindings / GetParam().name);
    for (const fs::path& seed : filesIn(kSeeds / GetParam().name)) files.push_back(seed);
    EXPECT_NO_THROW(GetParam().read({}));
    for (const fs::path& file : files) {
        const std::string bytes = test::readBytes(file);
        EXPECT_NO_THROW(GetParam().read({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()}))
            << file;
    }
}

INSTANTIATE_TEST_SUITE_P(Each, FuzzReader, testing::ValuesIn(fuzz::kReaders),
                         [](const auto& of) { return of.param.name; });

TEST(FuzzFindings, AreAllOfAReaderThereIs)
{
    for (const fs::path& home : {kFindings, kSeeds})
        for (const fs::path& folder : filesIn(home))
            EXPECT_TRUE(std::any_of(std::begin(fuzz::kReaders), std::end(fuzz::kReaders),
                                    [&](const auto& reader) { return folder.filename() == reader.name; }))
                << folder;
}

}  // namespace
}  // namespace slipglass
