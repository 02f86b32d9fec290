#include "caption.h"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

struct Unref {
    void operator()(void* object) const { g_object_unref(object); }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

// Near white on near black: read in any light.
constexpr double kPaper = 0.09, kInk = 0.95;
/// Letters' height as a share of the frame's shorter side, and the least, px.
constexpr double kTextShare = 0.032, kLeastText = 14;

Layout layoutOf(cairo_t* context, const std::string& words, double size)
{
    Layout layout(pango_cairo_create_layout(context));
    PangoFontDescription* font = pango_font_description_from_string("Sans");
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    pango_layout_set_font_description(layout.get(), font);
    pango_font_description_free(font);
    pango_layout_set_text(layout.get(), words.data(), static_cast<int>(words.size()));
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    return layout;
}

/// Writes on a line whose middle is `y`, at most `width` px. @return  px written.
double write(cairo_t* context, const std::string& words, double size, double x, double y, double width)
{
    const Layout layout = layoutOf(context, words, size);
    pango_layout_set_width(layout.get(), static_cast<int>(std::max(1.0, width) * PANGO_SCALE));
    pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    int wide = 0, high = 0;
    pango_layout_get_pixel_size(layout.get(), &wide, &high);
    cairo_set_source_rgb(context, kInk, kInk, kInk);
    cairo_move_to(context, x, std::round(y - high / 2.0));
    pango_cairo_show_layout(context, layout.get());
    return wide;
}

void drawLegend(cairo_t* context, const Legend& legend, double size, double y, double left, double right)
{
    double x =
        left + write(context, "roots first seen: " + legend.first, size, left, y, right - left) + size / 2;
    const double side = std::min(1.4 * size, (right - x) / (static_cast<double>(legend.colours.size()) + 8));
    for (const cv::Vec3b& bgr : legend.colours) {
        cairo_set_source_rgb(context, bgr[2] / 255.0, bgr[1] / 255.0, bgr[0] / 255.0);
        cairo_rectangle(context, x, y - size / 2, side, size);
        cairo_fill(context);
        x += side;
    }
    write(context, legend.last, size, x + size / 2, y, right - x);
}

cv::Mat strip(int width, double size, const std::string& words, const std::optional<Legend>& legend)
{
    const double line = 1.9 * size, margin = size;
    const int height = static_cast<int>(std::ceil(legend ? 1.9 * line : line));
    using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
    using Context = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;
    const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height),
                          &cairo_surface_destroy);
    const Context context(cairo_create(surface.get()), &cairo_destroy);
    cairo_set_source_rgb(context.get(), kPaper, kPaper, kPaper);
    cairo_paint(context.get());
    write(context.get(), words, size, margin, line / 2, width - 2 * margin);
    if (legend) drawLegend(context.get(), *legend, 0.8 * size, 1.4 * line, margin, width - margin);
    cairo_surface_flush(surface.get());
    const cv::Mat drawn(height, width, CV_8UC4, cairo_image_surface_get_data(surface.get()),
                        static_cast<size_t>(cairo_image_surface_get_stride(surface.get())));
    cv::Mat bgr;
    cv::cvtColor(drawn, bgr, cv::COLOR_BGRA2BGR);  // in memory: blue, green, red, unused
    return bgr;
}

}  // namespace

cv::Mat withCaption(const cv::Mat& picture, const std::string& words, const std::optional<Legend>& legend)
{
    const double size = std::max(kLeastText, kTextShare * std::min(picture.cols, picture.rows));
    cv::Mat frame;
    cv::vconcat(picture, strip(picture.cols, size, words, legend), frame);
    return frame(cv::Rect(0, 0, frame.cols / 2 * 2, frame.rows / 2 * 2)).clone();
}

}  // namespace slipglass
