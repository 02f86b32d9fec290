#pragma once
#include <filesystem>

namespace slipglass::benchmark {

/// A folder of its own in the system's folder for temporary files, gone at the end.
class TemporaryFolder {
public:
    TemporaryFolder();
    ~TemporaryFolder();
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
};

/// Writes a sample photo as a phone with a 12-megapixel camera would have taken it: 3000 x 4000 px, with a
/// sensor's noise (always the same), JPEG 4:2:0, quality 90. Gives the file written.
std::filesystem::path writePhonePhoto(const std::filesystem::path& sample,
                                      const std::filesystem::path& folder);

}  // namespace slipglass::benchmark
