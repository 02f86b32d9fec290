#pragma once
#include <filesystem>
#include <vector>

namespace slipglass::test {

/// All .cpp and .h of src and include.
inline std::vector<std::filesystem::path> sourceFiles()
{
    const std::filesystem::path root = std::filesystem::path(SLIPGLASS_SAMPLES).parent_path();
    std::vector<std::filesystem::path> files;
    for (const char* folder : {"src", "include"})
        for (const auto& entry : std::filesystem::recursive_directory_iterator(root / folder))
            if (entry.path().extension() == ".cpp" || entry.path().extension() == ".h")
                files.push_back(entry.path());
    return files;
}

}  // namespace slipglass::test
