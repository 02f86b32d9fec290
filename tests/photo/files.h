#pragma once
// Files for the tests of `photo`: a folder that is gone afterwards, and bytes in and out.
#include <gtest/gtest.h>

#include <unistd.h>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace slipglass::test {

namespace fs = std::filesystem;

class TempFolder {
public:
    TempFolder()
    {
        static std::atomic<int> count{0};
        path_ = fs::canonical(fs::temp_directory_path()) /
                ("slipglass-photo-" + std::to_string(getpid()) + "-" + std::to_string(count++));
        fs::create_directories(path_);
    }
    ~TempFolder()
    {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    TempFolder(const TempFolder&) = delete;
    TempFolder& operator=(const TempFolder&) = delete;
    fs::path operator/(const fs::path& below) const { return path_ / below; }
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

inline std::string bytesOf(const fs::path& path)
{
    std::ifstream in(path, std::ios::binary);
    EXPECT_TRUE(in.good()) << path;
    return {std::istreambuf_iterator<char>(in), {}};
}

/// Also makes the folders above it.
inline fs::path write(const fs::path& path, const std::string& bytes)
{
    fs::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
}

inline fs::path photoData(const std::string& name)
{
    return fs::path(SLIPGLASS_TEST_DATA) / "photo" / name;
}

/// While it lives, files of mode 0 cannot be read, root or not.
class AsNobody {
public:
    AsNobody()
    {
        if (geteuid() == 0 && seteuid(65534) == 0) changed_ = true;
    }
    ~AsNobody()
    {
        if (changed_ && seteuid(0) != 0) std::abort();
    }
    AsNobody(const AsNobody&) = delete;
    AsNobody& operator=(const AsNobody&) = delete;

private:
    bool changed_ = false;
};

}  // namespace slipglass::test
