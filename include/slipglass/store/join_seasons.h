#pragma once
#include <filesystem>
#include <vector>

namespace slipglass {

/// Puts all rows of several season files into a new one, but for what was given beside the photos. Written
/// over what stands there. Throws Error naming a photo or tub that two of them have.
/// @param seasons  as SeasonStore has brought them up to date; the same ones in the same order give the same
/// bytes.
void joinSeasons(const std::vector<std::filesystem::path>& seasons, const std::filesystem::path& to);

}  // namespace slipglass
