#pragma once
#include <string>
#include <vector>

#include "slipglass/season/plan.h"
#include "slipglass/tub/label.h"

namespace slipglass {

/// What one tub's label says. Only `tub` is needed; the rest is for people.
struct SheetLabel {
    std::string tub, variety, medium, stuck_on;
};

enum class Paper { a4, us_letter };

/// One label a tub, in the order of the plan. A tub with several cuttings shows each variety once.
std::vector<SheetLabel> labelsOf(const Plan& plan);

/// Pages that so many labels fill. Throws Error when not even one label fits on the paper.
int labelPages(std::size_t labels, Paper paper, const LabelSettings& settings);

/// Labels at true size, to be printed, cut out and stuck to the tubs: QR code (ISO/IEC 18004) of labelText,
/// id, variety, medium and date, cut lines, and a ruler that shows whether the printer kept the size. With
/// the default 21 mm code a label is 30 x 38 mm; other sizes scale with it.
/// @return  the bytes of a PDF file; the same labels give the same bytes.
/// Throws Error for an id that a label cannot hold (over 64 bytes, an address), two labels of one tub, no
/// label at all, or a code too large for the paper.
std::string labelSheetPdf(const std::vector<SheetLabel>& labels, Paper paper, const LabelSettings& settings);

}  // namespace slipglass
