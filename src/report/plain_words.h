#pragma once
// Private to report: the program's words as a person with wet hands reads them.
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/observation.h"
#include "slipglass/season/care.h"
#include "slipglass/season/series.h"
#include "slipglass/text.h"

namespace slipglass {

/// "tip it out" -> "Tip it out".
std::string capitalised(std::string text);

/// The other way, but for words in capitals.
std::string uncapitalised(std::string text);

/// "24 Feb 2026".
std::string dayWords(Date day);
/// "24 Feb".
std::string shortDay(Date day);

/// "standing-water" -> "Water stands at the base".
std::string flagWords(const std::string& flag);
/// "Do today", "Look soon" or "Good to know".
const char* severityWords(Severity severity);
/// "Watered, 140 ml, tub weighs 706 g".
std::string careWords(const CareEvent& event);
/// "Struck", "Roots just seen", "No roots yet", "Given up", "Potted up" or "No photo yet".
const char* stateWords(const Series& series);
/// One sentence about its rooting.
std::string strikeSentence(const Series& series);

/// When it can be potted up: since when, or likely when. "" when there is nothing to say.
/// @param first  what it needs before, in a few words; "" when nothing forbids it.
std::string pottingSentence(const Series& series, const std::string& first = "");

/// "2 to 3"; "" when not known.
std::string rangeWords(std::optional<double> low, std::optional<double> high, int decimals);

/// "3.2 %", "none seen" below the detection limit, "not known".
std::string coverageWords(const Observation& seen, const SeasonSettings& settings);
/// "181 mm", likewise.
std::string lengthWords(const Observation& seen, const SeasonSettings& settings);
/// "8 mm standing (7 to 9)", "none standing", "not known".
std::string waterWords(const Observation& seen);
/// "dry", "drying", "damp" or "wet"; "not known".
std::string wetnessWord(const Observation& seen);
/// With the figure: "damp (0.49)".
std::string wetnessWords(const Observation& seen);

}  // namespace slipglass
