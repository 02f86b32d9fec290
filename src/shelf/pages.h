#pragma once
#include <filesystem>
#include <string>

#include "slipglass/serve/server.h"

namespace slipglass {

/// A file of the season's output: pages with what the shelf adds to them, pictures, tables. Nothing else of
/// the folder, the season file least of all.
/// @param path  below `out`, as Request::path without its '/'.
Response pageOf(const std::filesystem::path& out, const std::string& path);

/// The form of the plan.
Response planPage();

std::string shelfScript();  ///< "shelf.js", of every page served
std::string shelfStyle();   ///< "shelf.css", likewise
std::string shelfIcon();    ///< "icon.svg"

}  // namespace slipglass
