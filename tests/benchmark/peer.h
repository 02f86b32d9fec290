#pragma once
#include <filesystem>

namespace slipglass::benchmark {

/// Measures the samples, pages and all, on one thread, and lets a plain ridge filter (ridge_filter.py) find
/// roots on them, to which it is given the wall and the scale: prints processor time a photo and Dice of
/// both.
void printBesidePeer(const std::filesystem::path& samples, const std::filesystem::path& work);

}  // namespace slipglass::benchmark
