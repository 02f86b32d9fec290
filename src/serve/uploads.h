#pragma once
#include <cstddef>
#include <filesystem>

namespace slipglass {

/// The folder that uploads are written in, held so that one server has it at a time. The system lets go of it
/// when the program ends, however that comes.
class UploadFolder {
public:
    /// Makes the folder when it is not there; removes what earlier runs left. Throws Error.
    explicit UploadFolder(const std::filesystem::path& folder);
    ~UploadFolder();
    UploadFolder(const UploadFolder&) = delete;
    UploadFolder& operator=(const UploadFolder&) = delete;
    const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
    int held_;
};

/// A file that is being received; gone with this, unless someone has moved it.
class Upload {
public:
    explicit Upload(const UploadFolder& folder);
    ~Upload();
    Upload(const Upload&) = delete;
    Upload& operator=(const Upload&) = delete;

    void add(const char* bytes, std::size_t count);
    /// Whether all of it is on the disk now. False when something could not be written: the disk is full.
    bool finish();
    const std::filesystem::path& path() const { return path_; }

private:
    std::filesystem::path path_;
    int file_;
    bool sound_;
    bool finished_ = false;
};

}  // namespace slipglass
