#include "slipglass/season/figures.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "../support/scratch_folder.h"

namespace slipglass {
namespace {

TEST(Figures, StandInTheDocsWithUnitAndMeaning)
{
    const std::string files =
        test::readBytes(std::filesystem::path(SLIPGLASS_SAMPLES).parent_path() / "docs" / "files.md");
    for (const Figure& figure : kFigures) {
        std::string code("`");
        code.append(figure.name).append("`");
        EXPECT_NE(files.find(code), std::string::npos) << figure.name;
    }
}

}  // namespace
}  // namespace slipglass
