#pragma once
#include <CLI/CLI.hpp>
#include <filesystem>
#include <string>
#include <vector>

namespace slipglass {

/// --force, the same in each command that writes a folder.
void addForceFlag(CLI::App& command, bool& force);

/// A folder to be written into.
struct OutFolder {
    std::filesystem::path path;
    /// What the command reads: where it lies in the folder, it is known to the user to be there.
    std::vector<std::filesystem::path> given;
    std::vector<std::string> own;  ///< names that the command writes there, or reads, beside a season's
    bool force = false;
};

/// Before anything is written. Throws Error for a folder that holds other things and no season, and for one
/// whose season this slipglass cannot read, unless --force says that it is meant: then what is there stays,
/// and that season file is kept beside the new one.
void checkOutFolder(const OutFolder& folder);

}  // namespace slipglass
