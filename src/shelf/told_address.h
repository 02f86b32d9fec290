#pragma once
#include <filesystem>
#include <string>

#include "season_folder.h"

namespace slipglass {

/// Tells in the season's folder where its shelf is, until this goes, so that a second start opens the page
/// that is there (runningShelf). The address lets in whoever knows it: the file is for this user alone, and
/// where the file system knows no such thing there is none.
class ToldAddress {
public:
    /// @param folder  held by this shelf: what is told there is of one that was killed.
    ToldAddress(const SeasonFolder& folder, const std::string& address);
    ~ToldAddress();
    ToldAddress(const ToldAddress&) = delete;
    ToldAddress& operator=(const ToldAddress&) = delete;

private:
    std::filesystem::path file_;
};

}  // namespace slipglass
