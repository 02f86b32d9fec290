#pragma once
// Private to report: graph paper.
#include <functional>
#include <string>
#include <type_traits>
#include <vector>

#include "slipglass/words.h"

namespace slipglass {

/// The paper's inks. Each has one colour in the file; a page may give them others, for dark screens
/// (pages/page.css).
enum class Ink : int {
    paper,
    ink,
    grid,
    root,
    root_pale,
    length,
    water,
    water_pale,
    limit,
    wet,
    flag,
    care,
    forecast
};

/// A box on the paper with its axes, in px from the top left.
struct GraphBox {
    double top = 0, height = 0;      ///< px
    double low = 0, high = 1;        ///< of the upright axis
    std::string title;               ///< over its left end
    bool upright_numbers = true;     ///< numbers along the upright axis
    bool days_below = true;          ///< dates along the foot
    bool axes = true;                ///< any line at all
    std::vector<std::string> words;  ///< in place of numbers: at 0, evenly up to 1
};

class PlplotSheet;

/// One sheet: what is to be drawn on it, in order. It is drawn at last, and only where that was not done
/// before.
class GraphPaper {
public:
    /// Px: as wide as a phone shows it, so that its letters, of 14 and 12 px, keep their size there.
    static constexpr int kWidth = 360;
    static constexpr double kLeft = 50;

    /// @param height  px.
    /// @param zero    first day.
    /// @param days    from the first to the last day, > 0.
    /// @param right   px beside the last day.
    /// @param words   of the dates along its foot.
    GraphPaper(int height, Date zero, double days, const Words& words, double right = 18);

    /// All that is drawn until the next box is drawn in this one, clipped to it.
    void openBox(const GraphBox& box);
    void band(const std::vector<double>& days, const std::vector<double>& lows,
              const std::vector<double>& highs, Ink ink);
    void line(const std::vector<double>& days, const std::vector<double>& values, Ink ink, double width = 2,
              bool dashed = false);
    /// A filled dot, or an open one.
    void dot(double day, double value, Ink ink, bool open = false);
    /// Looked, and none seen.
    void cross(double day, double value, Ink ink);

    /// A line of small words from the paper's left edge on.
    void smallText(double value, const std::string& words, Ink ink);
    /// Small words that begin at px from the left and from the top of the paper.
    void smallTextAt(double x, double y, const std::string& words, Ink ink);

    /// Px from the left and from the top, in the box that is open.
    double xOf(double day) const;
    double yOf(double value) const;

    /// Throws Error when it cannot be drawn.
    /// @param before  what it gave earlier, maybe of another drawing. Its last line says of what, so it is
    /// given back where that is this one, as long as not a byte of it has changed.
    std::string svg(const std::string& before = "") const;

private:
    template <class... Args>
    void say(void (PlplotSheet::*step)(Args...), char name, const std::decay_t<Args>&... args);

    std::string said_;  ///< all of it, as bytes: the same bytes are the same drawing
    std::vector<std::function<void(PlplotSheet&)>> steps_;
    int height_;
    Date zero_;
    double days_;
    double right_;
    Words words_;
    GraphBox box_;
};

}  // namespace slipglass
