#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace slipglass {

/// Something found below an input, photo or not.
struct Found {
    std::filesystem::path path;
    std::filesystem::path root;   ///< the input folder, absolute
    std::filesystem::path below;  ///< the path from there
    std::string identity;         ///< equal for two ways to the same file
    bool by_link = false;
    std::string reason, remedy;  ///< why it is no photo; empty when it may be one
    int prefix_parts = 0;        ///< parts of `root` that its name needs to be unique
};

/// What a file or folder given by the user holds: each file and what cannot be read, as PhotoListing says,
/// some perhaps twice. Added to `found`. Throws Error when there is no such input.
void findFiles(const std::filesystem::path& input, std::vector<Found>& found);

}  // namespace slipglass
