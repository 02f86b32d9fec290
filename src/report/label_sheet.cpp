#include "slipglass/report/label_sheet.h"

#include <cairo-pdf.h>

#include <algorithm>
#include <memory>
#include <set>

#include "label_drawing.h"
#include "slipglass/error.h"

namespace slipglass {
namespace {

constexpr double kPointsPerMm = 72 / 25.4;

cairo_status_t append(void* bytes, const unsigned char* data, unsigned int length)
{
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

/// Throws unless every tub can be told by its label.
void check(const std::vector<SheetLabel>& labels, const LabelSettings& settings)
{
    if (labels.empty()) throw Error("labels", "the plan names no tub", "Add a row for each tub");
    std::set<std::string> seen;
    for (const SheetLabel& label : labels) {
        const auto read_back = parseLabelText(labelText(label.tub, settings.qr_side_mm));
        if (!read_back || read_back->tub != label.tub)
            throw Error("tub \"" + label.tub + "\"", "cannot be put on a label",
                        "Use an id of 1 to 64 letters and digits");
        if (!seen.insert(label.tub).second)
            throw Error("tub \"" + label.tub + "\"", "would get two labels",
                        "Give each tub an id of its own");
    }
}

void addOnce(std::string& list, const std::string& item)
{
    const std::string both = ", " + list + ", ";
    if (item.empty() || both.find(", " + item + ", ") != std::string::npos) return;
    list += (list.empty() ? "" : ", ") + item;
}

}  // namespace

std::vector<SheetLabel> labelsOf(const Plan& plan)
{
    std::vector<SheetLabel> labels;
    for (const PlannedCutting& cutting : plan.cuttings) {
        auto label =
            std::find_if(labels.begin(), labels.end(), [&](const auto& l) { return l.tub == cutting.tub; });
        if (label == labels.end()) label = labels.insert(labels.end(), {cutting.tub, {}, {}, {}});
        addOnce(label->variety, cutting.variety);
        addOnce(label->medium, cutting.medium);
        if (cutting.stuck_on) addOnce(label->stuck_on, isoDate(*cutting.stuck_on));
    }
    return labels;
}

int labelPages(std::size_t labels, Paper paper, const LabelSettings& settings)
{
    const auto per_page = static_cast<std::size_t>(layoutFor(paper, settings).perPage());
    return static_cast<int>((labels + per_page - 1) / per_page);
}

std::string labelSheetPdf(const std::vector<SheetLabel>& labels, Paper paper, const LabelSettings& settings)
{
    check(labels, settings);
    const SheetLayout layout = layoutFor(paper, settings);
    std::string bytes;
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_pdf_surface_create_for_stream(append, &bytes, layout.page_width * kPointsPerMm,
                                            layout.page_height * kPointsPerMm),
        cairo_surface_destroy);
    cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, "Tub labels");
    // Cairo would write today's date: the same plan is to give the same bytes on any day.
    cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    {
        const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> context(cairo_create(surface.get()),
                                                                         cairo_destroy);
        for (int page = 0; page < labelPages(labels.size(), paper, settings); ++page) {
            drawLabelPage(context.get(), labels, page, layout, settings);
            cairo_show_page(context.get());
        }
    }
    cairo_surface_finish(surface.get());
    if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS)
        throw std::runtime_error(std::string("PDF: ") +
                                 cairo_status_to_string(cairo_surface_status(surface.get())));
    return bytes;
}

}  // namespace slipglass
