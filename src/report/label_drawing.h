#pragma once
#include <cairo.h>

#include <string>
#include <vector>

#include "slipglass/report/label_sheet.h"

namespace slipglass {

/// Sizes on the page, mm.
struct SheetLayout {
    double page_width, page_height;
    double label_width, label_height;
    int columns, rows;

    int perPage() const { return columns * rows; }
    double left() const { return 0.5 * (page_width - columns * label_width); }
    double top() const;
};

/// Throws Error when not even one label fits.
SheetLayout layoutFor(Paper paper, const LabelSettings& settings);

/// Draws page `page` (from 0) of a sheet.
/// @param context  user space in PDF points, 72 to the inch, origin at the page's top left.
void drawLabelPage(cairo_t* context, const std::vector<SheetLabel>& labels, int page,
                   const SheetLayout& layout, const LabelSettings& settings);

}  // namespace slipglass
