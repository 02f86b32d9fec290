#pragma once
// Private to report: what the pages are made of, the files of pages/.
#include <string>

namespace slipglass {

/// Embedded at build time, so that the program is one file.
namespace page_file {
std::string style();
std::string head();
std::string cautions();
std::string season();
std::string seasonScript();
std::string benchSheet();
std::string benchSheetScript();
std::string cutting();
std::string cuttingScript();  ///< all scripts of a cutting's page, in order
}  // namespace page_file

}  // namespace slipglass
