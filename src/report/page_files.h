#pragma once
// Private to report: what the pages are made of, the files of pages/.
#include <map>
#include <string>
#include <string_view>

namespace slipglass {

/// Embedded at build time, so that the program is one file.
namespace page_file {
std::string style();
/// Parts that several pages share, by the name that a page calls them by.
const std::map<std::string, std::string_view>& parts();
std::string season();
std::string seasonScript();
std::string oneFile();  ///< its script is the season's
std::string benchSheet();
std::string benchSheetScript();
std::string cutting();
std::string cuttingScript();  ///< all scripts of a cutting's page, in order
}  // namespace page_file

}  // namespace slipglass
