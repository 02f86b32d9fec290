#pragma once
#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "slipglass/frames.h"
#include "slipglass/observation.h"

namespace slipglass {

/// A line drawn on a photo, as wide as a brush.
struct Stroke {
    bool root = true;  ///< what lies under it is root; else it is not
    double width_px = 1;
    std::vector<PhotoPoint> points;  ///< one is a dot
};

/// What a person says of one tub in one photo, against what the program found. Points in full-size upright
/// photo px.
struct Correction {
    std::string photo, tub;       ///< as the file says; empty: the file's name tells
    std::vector<Stroke> strokes;  ///< where two lie over each other, the later one holds
    /// Corners of the tub as Observation::outline: rim left, rim right, base right, base left.
    std::optional<std::array<PhotoPoint, 4>> outline;
    std::optional<std::vector<PhotoPoint>> water_line;  ///< no points: looked, no water stands

    bool empty() const { return strokes.empty() && !outline && !water_line; }
};

/// What both say: where they meet, `later` holds.
Correction together(Correction earlier, const Correction& later);

/// Reads one correction (docs/files.md). `file_name` is for messages only.
/// Throws Error: not JSON, an unknown key with the nearest known one, a value that cannot be.
Correction parseCorrection(std::string_view text, const std::string& file_name);

/// Equal text means equal corrections, whatever photo they are for. Locale-free, round-trip exact; itself
/// such a file.
std::string correctionText(const Correction& correction);

/// Throws Error when a correction cannot be of a photo of this size: nothing of it lies in the picture.
void checkAgainstPhoto(const Correction& correction, const std::string& file_name, double width_px,
                       double height_px);

struct CorrectionFile {
    std::string name;  ///< path below the folder, '/' between parts
    std::string stem;  ///< the same without ".json"
    Correction correction;
};

/// Whether a file is about a tub in a photo, by what it says inside or else by its name.
/// @param only_tub  the photo shows no other.
bool isFor(const CorrectionFile& file, const std::string& photo, const std::string& tub, bool only_tub);

/// A file of corrections before it is looked into.
struct CorrectionText {
    std::string name;        ///< path below the folder, '/' between parts
    std::string text;        ///< empty where it could not be read
    std::int64_t saved = 0;  ///< when it was last written, s; only how two compare counts
};

struct CorrectionListing {
    std::vector<CorrectionFile> files;  ///< in order of time, then as people number copies
    std::vector<Problem> problems;      ///< one for each file that cannot be used
};

/// All *.json files in a folder and below; hidden ones, and files of other kinds, are passed over.
/// Throws Error when there is no such folder.
std::vector<CorrectionText> correctionTexts(const std::filesystem::path& folder);
CorrectionListing parseCorrections(std::vector<CorrectionText> texts);

}  // namespace slipglass
