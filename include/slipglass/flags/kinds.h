#pragma once
#include <optional>
#include <string>
#include <vector>

#include "slipglass/season/care.h"

namespace slipglass {

/// What everybody needs to know of a kind of flag. Its functions are in each_flag.h.
struct FlagKind {
    const char* name;               ///< "standing-water"
    const char* words;              ///< of it as a heading: "Water stands at the base"
    const char* ask;                ///< what to do, for a line: "tip the water out"
    const char* seen;               ///< what was seen, likewise, where no figure says it better
    std::optional<Care> done_by{};  ///< what a grower notes who has done so
};

/// All kinds; among flags of one severity the one that can do most harm first. Last "photo-due", which no
/// series raises, but the rounds do (roundsOf).
const std::vector<FlagKind>& flagKinds();

/// By name; std::logic_error on one that is none.
const FlagKind& flagKind(const std::string& name);

/// Whether a flag of one kind, while it holds, comes before one of another: it is the other's cause, says all
/// that it says, or forbids what it asks. Every pair is looked at in tests/flags/test_kinds.cpp.
bool comesBefore(const std::string& one, const std::string& other);

}  // namespace slipglass
