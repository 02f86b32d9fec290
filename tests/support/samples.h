#pragma once
// The sample season: renderings with exact truth (sample-images/README.md), not photographs.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>
#include <vector>

namespace slipglass::test {

inline const std::filesystem::path kSamples = SLIPGLASS_SAMPLES;
constexpr size_t kSampleCount = 36;  // sample-images/README.md

/// File stems of all sample photos, sorted.
inline std::vector<std::string> sampleStems()
{
    std::vector<std::string> stems;
    for (const auto& entry : std::filesystem::directory_iterator(kSamples / "photos"))
        stems.push_back(entry.path().stem().string());
    if (stems.size() != kSampleCount) throw std::runtime_error("sample-images/photos has lost photos");
    std::sort(stems.begin(), stems.end());
    return stems;
}

inline std::filesystem::path samplePhoto(const std::string& stem)
{
    return kSamples / "photos" / (stem + ".jpg");
}

inline nlohmann::json sampleTruth(const std::string& stem)
{
    std::ifstream file(kSamples / "truth" / (stem + ".truth.json"));
    return nlohmann::json::parse(file);
}

}  // namespace slipglass::test
