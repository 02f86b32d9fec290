// Who may include whom, as src/CMakeLists.txt says it: a folder, and what it USES, and what those use.
#include <gtest/gtest.h>

#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "../support/scratch_folder.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

fs::path root()
{
    return fs::path(SLIPGLASS_SAMPLES).parent_path();
}

/// Each folder of src with all it may include.
std::map<std::string, std::set<std::string>> allowed()
{
    std::map<std::string, std::set<std::string>> may;
    const std::string text = test::readBytes(root() / "src" / "CMakeLists.txt");
    const std::regex stage(R"(slipglass_stage\((\w+)\s+SOURCES([^)]*)\))");
    for (std::sregex_iterator it(text.begin(), text.end(), stage), end; it != end; ++it) {
        const std::string name = (*it)[1];
        may[name].insert(name);
        std::istringstream words((*it)[2]);
        std::string word, part;
        while (words >> word) {
            if (word == "USES" || word == "SHOWS" || word == "LIBS")
                part = word;
            else if (part == "USES")
                may[name].insert(may[word].begin(), may[word].end());
        }
    }
    return may;
}

/// The folder that a header of include/slipglass belongs to.
std::string folderOf(const std::string& header)
{
    const size_t slash = header.find('/');
    if (slash != std::string::npos) return header.substr(0, slash);
    if (header == "observe.h") return "observe";
    if (header == "measure.h" || header == "teach.h") return "measure";
    return "words";
}

TEST(House, EachFolderIncludesOnlyWhatItMay)
{
    const auto may = allowed();
    ASSERT_GE(may.size(), 18U);
    const std::regex include(R"(#include "slipglass/([^"]+)\")");
    int looked_at = 0;
    for (const auto& [folder, others] : may)
        for (const fs::path& place : {root() / "src" / folder, root() / "include" / "slipglass" / folder}) {
            if (!fs::exists(place)) continue;
            for (const auto& entry : fs::directory_iterator(place)) {
                if (entry.path().extension() != ".cpp" && entry.path().extension() != ".h") continue;
                const std::string text = test::readBytes(entry.path());
                for (std::sregex_iterator it(text.begin(), text.end(), include), end; it != end; ++it) {
                    ++looked_at;
                    EXPECT_TRUE(others.count(folderOf((*it)[1])))
                        << entry.path() << " includes " << (*it)[1] << ", which " << folder << " may not";
                }
            }
        }
    EXPECT_GT(looked_at, 400);
}

}  // namespace
}  // namespace slipglass
