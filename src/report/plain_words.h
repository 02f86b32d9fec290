#pragma once
// Private to report: the program's words as a person with wet hands reads them.
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/observation.h"
#include "slipglass/season/care.h"
#include "slipglass/season/series.h"

namespace slipglass {

std::string joined(const std::vector<std::string>& parts, const char* between);
/// "tip it out" -> "Tip it out".
std::string capitalised(std::string text);
/// "1 tub", "2 tubs".
std::string counted(size_t n, const char* one, const char* many);

/// "24 Feb 2026".
std::string dayWords(Date day);
/// "24 Feb".
std::string shortDay(Date day);

/// "standing-water" -> "Water stands at the base". A flag without words of its own is its name.
std::string flagWords(const std::string& flag);
/// "Do today", "Look soon" or "Good to know".
const char* severityWords(Severity severity);
/// "water given".
std::string careWords(const CareEvent& event);
/// "Struck", "Not yet", "Failed", "No photo".
const char* stateWords(const Series& series);
/// One sentence about its rooting.
std::string strikeSentence(const Series& series);

/// When it can be potted up: since when, or likely when. "" when there is nothing to say.
std::string pottingSentence(const Series& series);

/// "3.2 %", "none seen" below the detection limit, "not known".
std::string coverageWords(const Observation& seen, const SeasonSettings& settings);
/// "8 mm standing", "none", "not known".
std::string waterWords(const Observation& seen);
/// "dry", "drying", "damp" or "wet", from 0..1; "not known".
std::string wetnessWords(const Observation& seen);

}  // namespace slipglass
