// Two types of one name, in files that never meet, are one to the linker: it keeps one of their destructors
// for both. That is how a run that was short of memory once freed what was none (docs/reliability.md).
#include <gtest/gtest.h>

#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "../support/scratch_folder.h"
#include "source_files.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// Types that a file defines outside all unnamed namespaces, with those that enclose them; not those within
/// types.
std::set<std::string> typesIn(const fs::path& file)
{
    static const std::regex opens(R"(^(?:inline )?namespace ?([\w:]*) ?\{.*)"),
        type(R"(^(?:struct|class|enum|enum class) (\w+)(?: final)?(?: ?:[^:].*)?(?: ?\{.*)?$)");
    std::set<std::string> types;
    std::vector<std::string> within;
    std::istringstream text(test::readBytes(file));
    std::smatch match;
    for (std::string line; std::getline(text, line);) {
        if (std::regex_match(line, match, opens))
            within.push_back(match[1]);
        else if (line.starts_with("}  // namespace") && !within.empty())
            within.pop_back();
        else if (std::regex_match(line, match, type) && std::count(within.begin(), within.end(), "") == 0) {
            std::string name;
            for (const std::string& one : within) name += one + "::";
            types.insert(name + match[1].str());
        }
    }
    return types;
}

TEST(House, NoTwoTypesHaveOneName)
{
    std::map<std::string, fs::path> defined;
    for (const fs::path& file : test::sourceFiles())
        for (const std::string& type : typesIn(file)) {
            const auto [before, is_new] = defined.emplace(type, file);
            EXPECT_TRUE(is_new) << type << " is in " << before->second << " and in " << file;
        }
    EXPECT_GT(defined.size(), 200U);
}

}  // namespace
}  // namespace slipglass
