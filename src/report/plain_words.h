#pragma once
// Private to report: the program's words as a person with wet hands reads them.
#include <string>
#include <vector>

#include "slipglass/flags/flags.h"
#include "slipglass/observation.h"
#include "slipglass/season/care.h"
#include "slipglass/season/series.h"
#include "slipglass/text.h"
#include "slipglass/words.h"

namespace slipglass {

/// "tip it out" -> "Tip it out".
std::string capitalised(const std::string& text);

/// As it stands inside a sentence: the other way in English, but for words in capitals.
std::string insideSentence(std::string text, const Words& words);

/// "standing-water" -> "Water stands at the base".
std::string flagWords(const std::string& flag, const Words& words);
/// "Do today", "Look soon" or "Good to know".
std::string severityWords(Severity severity, const Words& words);
/// "Watered, 140 ml, tub weighs 706 g".
std::string careWords(const CareEvent& event, const Words& words);
/// "Struck", "Roots just seen", "No roots yet", "Given up", "Potted up" or "No photo yet".
std::string stateWords(const Series& series, const Words& words);
/// One sentence about its rooting.
std::string strikeSentence(const Series& series, const Words& words);

/// When it can be potted up: since when, or likely when. "" when there is nothing to say.
/// @param first  what it needs before, in a few words; "" when nothing forbids it.
std::string pottingSentence(const Series& series, const Words& words, const std::string& first = "");

/// "2 to 3"; "" when not known.
std::string rangeWords(std::optional<double> low, std::optional<double> high, int decimals,
                       const Words& words);
/// The same of lengths, with their unit: "2 to 3 mm".
std::string lengthRangeWords(std::optional<double> low, std::optional<double> high, int decimals,
                             const Words& words);

/// "3.2 %", "none seen" below the detection limit, "not known".
std::string coverageWords(const Observation& seen, const SeasonSettings& settings, const Words& words);
/// "181 mm", likewise.
std::string lengthWords(const Observation& seen, const SeasonSettings& settings, const Words& words);
/// "8 mm standing (7 to 9)", "none standing", "not known".
std::string waterWords(const Observation& seen, const Words& words);
/// "dry", "drying", "damp" or "wet"; "not known".
std::string wetnessWord(const Observation& seen, const Words& words);
/// With the figure: "damp (0.49)".
std::string wetnessWords(const Observation& seen, const Words& words);

/// Sentences that are kept in English (Words::kept), "; " between.
std::string keptWords(const std::vector<std::string>& sentences, const Words& words);

}  // namespace slipglass
