#pragma once
#include <cstdint>
#include <filesystem>
#include <string>

namespace slipglass {

/// Far more than a plan, a care log or a page of ours has.
constexpr std::uintmax_t kMostTextBytes = std::uintmax_t{64} << 20;

/// A whole file, wherever a user can have laid something else or named it. Throws Error, with nothing read
/// and without waiting, where there is none, where it is no regular file (a folder, a pipe, a device) or has
/// more bytes than `most`; and where it cannot be read.
std::string readFile(const std::filesystem::path& path, std::uintmax_t most = kMostTextBytes);

}  // namespace slipglass
