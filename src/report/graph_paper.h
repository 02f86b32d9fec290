#pragma once
// Private to report: graph paper drawn on by PLplot.
#include <mutex>
#include <string>
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

/// One sheet. PLplot keeps its state in the process: a second sheet waits for the first.
class GraphPaper {
public:
    /// Px: as wide as a phone shows it, so that its letters, of 14 and 12 px, keep their size there.
    static constexpr int kWidth = 360;
    static constexpr double kLeft = 50;

    /// @param height  px.
    /// @param zero    first day.
    /// @param days    from the first to the last day, > 0.
    /// @param right   px beside the last day.
    /// Throws Error when the scratch file cannot be made.
    /// @param words   of the dates along its foot.
    GraphPaper(int height, Date zero, double days, const Words& words, double right = 18);
    ~GraphPaper();
    GraphPaper(const GraphPaper&) = delete;
    GraphPaper& operator=(const GraphPaper&) = delete;

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
    void text(double day, double value, const std::string& words, Ink ink, double alignment = 0);

    /// A line of small words from the paper's left edge on.
    void smallText(double value, const std::string& words, Ink ink);
    /// Small words that begin at px from the left and from the top of the paper.
    void smallTextAt(double x, double y, const std::string& words, Ink ink);

    /// Px from the left and from the top, in the box that is open.
    double xOf(double day) const;
    double yOf(double value) const;

    /// Ends the sheet. Throws Error when PLplot has drawn nothing.
    std::string svg();

private:
    void drawAxes();
    void openWindow();  ///< of the box

    std::scoped_lock<std::mutex> one_at_a_time_;
    std::string path_;
    int height_;
    Date zero_;
    double days_;
    double right_;
    Words words_;
    GraphBox box_;
    bool open_ = true;
};

}  // namespace slipglass
