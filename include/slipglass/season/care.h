#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

/// What was done to a tub.
enum class Care {
    watered,
    tipped_out,  ///< standing water poured away
    moved,
    potted_up,
    given_up,
    weighed,  ///< nothing else: a row that only gives a weight
    noted     ///< nothing else: a row that only gives a note
};

/// "watered", "tipped-out", ... as in care.csv.
const char* careText(Care what);

/// One row of care.csv.
struct CareEvent {
    Date date{};
    std::string tub;
    std::string cutting;  ///< potted-up, given-up, noted: this one alone; empty: all in the tub
    Care what = Care::watered;
    std::optional<double> amount_ml;  ///< poured on or out
    std::optional<double> weight_g;   ///< of the whole tub, when it was done
    std::string note;
    int line = 0;  ///< of the file, for messages
};

struct CareLog {
    std::string file;                   ///< its name, for messages
    std::vector<CareEvent> events;      ///< by date, then as in the file
    std::vector<std::string> warnings;  ///< each one clear line
};

/// Reads care.csv, as forgiving of spreadsheets as readPlan. Needs the columns `date`, `tub`, `what`; takes
/// `amount_ml`, `weight_g`, `note`, `cutting`. `what` is taken in any case, with blanks or '_' for '-', and
/// may be left out where a weight or a note is given. Decimals with '.' or ','; days as typedDate takes them.
/// Only column names: a log with nothing in it yet. Warnings: a date after `today`, a column that is not ours
/// (nearest named). Throws Error, naming file and line, for: a needed column missing, an empty file, a row of
/// another length, without a tub or without `what`, weight and note, another `what` (nearest named), a bad
/// date or one before 2000, an amount or weight that is no number above 0.
CareLog readCare(const std::filesystem::path& care_csv, Date today = slipglass::today());

/// The same from the text of such a file. @param file  its name, for messages.
CareLog parseCare(const std::string& text, const std::string& file, Date today);

/// A tub's weight on one day.
struct Weighing {
    Date date{};
    double weight_g = 0;
    /// Change per day since the last weighing of an earlier day.
    std::optional<double> g_per_day;
    /// It was watered or tipped out since then, so that the change is not the drying alone.
    bool interrupted = false;
};

/// The weighings among a tub's events, in order of date; of several on one day the last.
std::vector<Weighing> weighingsOf(const std::vector<CareEvent>& of_tub);

/// Whether the tub was watered or tipped out from day `from` to day `to`, both counted: on the day of a photo
/// nobody knows which came first.
bool handledBetween(const std::vector<CareEvent>& of_tub, Date from, Date to);

}  // namespace slipglass
