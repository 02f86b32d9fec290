#include "label_drawing.h"

#include <pango/pangocairo.h>
#include <qrencode.h>

#include <algorithm>
#include <memory>

#include "slipglass/error.h"

namespace slipglass {
namespace {

constexpr double kPointsPerMm = 72 / 25.4;
constexpr double kMargin = 10;       // mm: what office printers leave white, and some
constexpr double kHeader = 7;        // mm, over the labels
constexpr double kFooter = 17;       // mm, under them: the ruler
constexpr double kRuler = 100;       // mm
constexpr double kDefaultSide = 21;  // mm: the side of the code that the sizes below belong to

// A label round a 21 mm code, mm. 4.5 mm of white is the code's quiet zone of 4 modules, and a little more.
constexpr double kLabelWidth = 30, kLabelHeight = 38, kWhite = 4.5;

double points(double mm)
{
    return mm * kPointsPerMm;
}

struct Unref {
    void operator()(void* object) const { g_object_unref(object); }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

enum class Align { left, centre, right };

struct Text {
    std::string words;
    double x, baseline, width;  ///< mm; x: left end of the width it may take
    double size;                ///< mm
    bool bold = false;
    Align align = Align::centre;
};

Layout layoutOf(cairo_t* context, const Text& text, double size)
{
    Layout layout(pango_cairo_create_layout(context));
    PangoContext* const pango = pango_layout_get_context(layout.get());
    // Letters where they belong at any resolution: a sheet is looked at on screens, but measured on paper.
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(pango, options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(pango, FALSE);
    pango_layout_context_changed(layout.get());

    PangoFontDescription* font = pango_font_description_from_string(text.bold ? "Sans Bold" : "Sans");
    pango_font_description_set_absolute_size(font, points(size) * PANGO_SCALE);
    pango_layout_set_font_description(layout.get(), font);
    pango_font_description_free(font);
    pango_layout_set_text(layout.get(), text.words.data(), static_cast<int>(text.words.size()));
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    return layout;
}

double widthMm(PangoLayout* layout)
{
    int width = 0;
    pango_layout_get_size(layout, &width, nullptr);
    return static_cast<double>(width) / PANGO_SCALE / kPointsPerMm;
}

/// One line; smaller by up to a fifth if that makes it fit, else cut with an ellipsis.
void drawText(cairo_t* context, const Text& text)
{
    if (text.words.empty()) return;
    Layout layout = layoutOf(context, text, text.size);
    if (const double natural = widthMm(layout.get()); natural > text.width)
        layout = layoutOf(context, text, text.size * std::max(0.8, 0.99 * text.width / natural));
    if (widthMm(layout.get()) > text.width) {
        pango_layout_set_width(layout.get(), static_cast<int>(points(text.width) * PANGO_SCALE));
        pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    }
    double x = text.x;
    const double spare = text.width - std::min(text.width, widthMm(layout.get()));
    if (text.align == Align::centre) x += spare / 2;
    if (text.align == Align::right) x += spare;
    const double baseline = pango_layout_get_baseline(layout.get()) / static_cast<double>(PANGO_SCALE);
    pango_layout_set_alignment(layout.get(), PANGO_ALIGN_LEFT);
    cairo_move_to(context, points(x), points(text.baseline) - baseline);
    pango_cairo_show_layout(context, layout.get());
}

struct FreeCode {
    void operator()(QRcode* code) const { QRcode_free(code); }
};
using Code = std::unique_ptr<QRcode, FreeCode>;

/// The smallest code of level M (15 % may be damaged), or Q (25 %) where that is no larger.
Code encode(const std::string& text)
{
    Code medium(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M));
    if (!medium)
        throw Error("label \"" + text + "\"", "cannot be put into a QR code", "Use a shorter tub id");
    Code quarter(QRcode_encodeString8bit(text.c_str(), medium->version, QR_ECLEVEL_Q));
    return quarter && quarter->version == medium->version ? std::move(quarter) : std::move(medium);
}

/// The dark modules as one path, filled once: neighbours drawn apart would show hairlines between them.
void drawCode(cairo_t* context, const std::string& text, double x, double y, double side)
{
    const Code code = encode(text);
    const int modules = code->width;
    const double module = side / modules;
    for (int row = 0; row < modules; ++row)
        for (int col = 0; col < modules;) {
            int end = col;
            while (end < modules && (code->data[row * modules + end] & 1) != 0) ++end;
            if (end > col)
                cairo_rectangle(context, points(x + col * module), points(y + row * module),
                                points((end - col) * module), points(module));
            col = end + 1;
        }
    cairo_set_source_rgb(context, 0, 0, 0);
    cairo_fill(context);
}

std::string joined(const std::string& a, const std::string& b)
{
    return a.empty() || b.empty() ? a + b : a + " \u00b7 " + b;
}

/// A label whose top left corner lies at (x, y).
void drawLabel(cairo_t* context, const SheetLabel& label, double x, double y, const LabelSettings& settings)
{
    const double k = settings.qr_side_mm / kDefaultSide;
    drawCode(context, labelText(label.tub, settings.qr_side_mm), x + kWhite * k, y + kWhite * k,
             settings.qr_side_mm);
    const auto line = [&](const std::string& words, double baseline, double size, bool bold) {
        drawText(context, {words, x + 1.5 * k, y + baseline * k, (kLabelWidth - 3) * k, size * k, bold});
    };
    line(label.tub, 32.2, 3.6, true);
    line(label.variety, 34.9, 2.1, false);
    line(joined(label.stuck_on, label.medium), 37.1, 1.7, false);
}

void drawLine(cairo_t* context, double x0, double y0, double x1, double y1)
{
    cairo_move_to(context, points(x0), points(y0));
    cairo_line_to(context, points(x1), points(y1));
    cairo_stroke(context);
}

/// Cut lines round `count` labels: neighbours share one.
void drawCutLines(cairo_t* context, int count, const SheetLayout& l)
{
    cairo_set_source_rgb(context, 0.6, 0.6, 0.6);
    cairo_set_line_width(context, points(0.15));
    for (int k = 0; k < count; ++k) {
        const double x = l.left() + (k % l.columns) * l.label_width;
        const int row = k / l.columns;
        const double y = l.top() + row * l.label_height;
        if (k < l.columns) drawLine(context, x, y, x + l.label_width, y);
        if (k % l.columns == 0) drawLine(context, x, y, x, y + l.label_height);
        drawLine(context, x + l.label_width, y, x + l.label_width, y + l.label_height);
        drawLine(context, x, y + l.label_height, x + l.label_width, y + l.label_height);
    }
}

void drawRuler(cairo_t* context, const SheetLayout& l)
{
    const double left = 0.5 * (l.page_width - kRuler), base = l.page_height - kMargin - 5;
    cairo_set_source_rgb(context, 0, 0, 0);
    cairo_set_line_width(context, points(0.2));
    drawLine(context, left, base, left + kRuler, base);
    for (int mm = 0; mm <= kRuler; ++mm) {
        const double tick = mm % 10 == 0 ? 3 : mm % 5 == 0 ? 2 : 1;
        drawLine(context, left + mm, base, left + mm, base - tick);
    }
    drawText(context, {"0", left - 10, base - 0.4, 9, 2.5, false, Align::right});
    drawText(context, {"100 mm", left + kRuler + 1, base - 0.4, 20, 2.5, false, Align::left});
    drawText(
        context,
        {"Print at 100 % (actual size, not \u201cfit to page\u201d). Measure this line: it must be 100 mm "
         "long, else all sizes in mm will be wrong.",
         kMargin, base + 4, l.page_width - 2 * kMargin, 2.8});
}

}  // namespace

double SheetLayout::top() const
{
    return kMargin + kHeader;
}

SheetLayout layoutFor(Paper paper, const LabelSettings& settings)
{
    const double k = settings.qr_side_mm / kDefaultSide;
    SheetLayout layout{paper == Paper::a4 ? 210.0 : 215.9,
                       paper == Paper::a4 ? 297.0 : 279.4,
                       kLabelWidth * k,
                       kLabelHeight * k,
                       0,
                       0};
    layout.columns = static_cast<int>((layout.page_width - 2 * kMargin) / layout.label_width + 1e-9);
    layout.rows =
        static_cast<int>((layout.page_height - 2 * kMargin - kHeader - kFooter) / layout.label_height + 1e-9);
    if (layout.perPage() < 1)
        throw Error("labels", "a label with so large a QR code does not fit on the page",
                    "Choose a smaller code");
    return layout;
}

void drawLabelPage(cairo_t* context, const std::vector<SheetLabel>& labels, int page, const SheetLayout& l,
                   const LabelSettings& settings)
{
    const int pages = (static_cast<int>(labels.size()) + l.perPage() - 1) / l.perPage();
    const int first = page * l.perPage();
    const int count = std::min(l.perPage(), static_cast<int>(labels.size()) - first);
    const std::string number = "page " + std::to_string(page + 1) + " of " + std::to_string(pages);
    cairo_set_source_rgb(context, 0, 0, 0);
    const double width = l.page_width - 2 * kMargin;
    drawText(context,
             {"Tub labels: cut along the grey lines, keep the white border, stick on flat and upright.",
              kMargin, kMargin + 3.5, width - 25, 2.8, false, Align::left});
    drawText(context, {number, kMargin + width - 24, kMargin + 3.5, 24, 2.8, false, Align::right});
    drawCutLines(context, count, l);
    for (int k = 0; k < count; ++k) {
        const int row = k / l.columns, column = k % l.columns;
        drawLabel(context, labels[first + k], l.left() + column * l.label_width,
                  l.top() + row * l.label_height, settings);
    }
    drawRuler(context, l);
}

}  // namespace slipglass
