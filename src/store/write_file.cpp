#include "slipglass/store/write_file.h"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <string>
#include <system_error>

#include "slipglass/error.h"

namespace slipglass {

namespace {

[[noreturn]] void cannotWrite(const std::filesystem::path& path, int reason)
{
    throw RunError(path.string(),
                   std::string("cannot be written: ") + std::generic_category().message(reason),
                   reason == ENOSPC ? "Make room on the disk, then run again"
                                    : "Check that you may write to the folder and that the disk is not full");
}

}  // namespace

bool fileThere(const std::filesystem::path& path)
{
    std::error_code none;
    const auto size = std::filesystem::file_size(path, none);
    return !none && size > 0;
}

std::string bytesIn(const std::filesystem::path& path)
{
    std::error_code none;
    const auto size = std::filesystem::file_size(path, none);
    std::ifstream file(path, std::ios::binary);
    if (none || !file) return "";
    std::string bytes(size, 0);
    file.read(bytes.data(), static_cast<std::streamsize>(size));
    bytes.resize(static_cast<size_t>(file.gcount()));
    return bytes;
}

bool fileHolds(const std::filesystem::path& path, std::string_view bytes)
{
    std::error_code ignored;
    if (!std::filesystem::is_regular_file(path, ignored) ||
        std::filesystem::file_size(path, ignored) != bytes.size())
        return false;
    return bytesIn(path) == bytes;
}

bool writeFile(const std::filesystem::path& path, std::string_view bytes)
{
    if (fileHolds(path, bytes)) return false;
    std::error_code problem;
    if (path.has_parent_path()) std::filesystem::create_directories(path.parent_path(), problem);
    if (problem) cannotWrite(path, problem.value());

    std::string part_name = ".";
    part_name.append(path.filename().string()).append(".part");
    const std::filesystem::path part = path.parent_path() / part_name;
    errno = 0;
    std::ofstream file(part, std::ios::binary | std::ios::trunc);
    file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    file.close();
    if (!file) {
        const int reason = errno != 0 ? errno : EIO;
        std::filesystem::remove(part, problem);
        cannotWrite(path, reason);
    }
    // Not flushed to the disk itself: all files but season.db are rebuilt from it by the next run.
    std::filesystem::rename(part, path, problem);
    // Another run that writes the same there at the same time has moved it.
    if (problem == std::errc::no_such_file_or_directory && fileHolds(path, bytes)) return true;
    if (problem) {
        const int reason = problem.value();
        std::filesystem::remove(part, problem);
        cannotWrite(path, reason);
    }
    return true;
}

}  // namespace slipglass
