#pragma once
// Private to report: a sheet that PLplot draws.
#include <array>
#include <mutex>
#include <string>
#include <vector>

#include "graph_paper.h"

namespace slipglass {

/// PLplot keeps its state in the process: a second sheet waits for the first. Draws what GraphPaper says,
/// in its words.
class PlplotSheet {
public:
    /// Of PLplot.
    static std::string version();

    /// Throws Error when the scratch file cannot be made.
    PlplotSheet(int height, Date zero, double days, const Words& words, double right);
    ~PlplotSheet();
    PlplotSheet(const PlplotSheet&) = delete;
    PlplotSheet& operator=(const PlplotSheet&) = delete;

    void openBox(const GraphBox& box);
    void band(const std::vector<double>& days, const std::vector<double>& lows,
              const std::vector<double>& highs, Ink ink);
    void line(const std::vector<double>& days, const std::vector<double>& values, Ink ink, double width,
              bool dashed);
    void dot(double day, double value, Ink ink, bool open);
    void cross(double day, double value, Ink ink);
    void smallTextAt(double x, double y, const std::string& words, Ink ink);

    /// Ends the sheet. Throws Error when PLplot has not drawn all of it, std::bad_alloc for want of memory.
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
    int gone_wrong_ = 0;             ///< as PLplot says: 1 when it could not do something
    std::array<char, 1024> said_{};  ///< by PLplot of it
};

}  // namespace slipglass
