#pragma once
#include <filesystem>
#include <string>
#include <string_view>

namespace slipglass {

/// Writes a whole file so that a reader, and a run that is killed, sees the old content or the new, never a
/// part: written beside it under another name, then renamed. Missing folders are made. A file that holds
/// these bytes already is left alone, so that a synced folder has nothing to copy: false. Throws Error when
/// the folder cannot be written or the disk is full; the old file then stays as it was.
bool writeFile(const std::filesystem::path& path, std::string_view bytes);

/// Whether a file is there with something in it: after a power cut there are some with nothing.
bool fileThere(const std::filesystem::path& path);

/// What a file holds; "" where there is none that can be read.
std::string bytesIn(const std::filesystem::path& path);

/// Whether a file is there and holds just these bytes.
bool fileHolds(const std::filesystem::path& path, std::string_view bytes);

}  // namespace slipglass
