#pragma once
#include <filesystem>
#include <string>

#include "slipglass/serve/server.h"
#include "slipglass/words.h"

namespace slipglass {

/// A file of the season's output: pages with what the shelf adds to them, pictures, tables. Nothing else of
/// the folder, the season file least of all.
/// @param words  of the shelf's own page; the season's are as they were written.
/// @param path  below `out`, as Request::path without its '/'.
Response pageOf(const std::filesystem::path& out, const std::string& path, const Words& words);

/// The form of the plan.
Response planPage(const Words& words);

std::string shelfScript(const Words& words);  ///< "shelf.js", of every page served
std::string shelfStyle();                     ///< "shelf.css", likewise
std::string shelfIcon();                      ///< "icon.svg"

}  // namespace slipglass
