#include "graph_paper.h"

#include "plplot_sheet.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {

namespace {

/// Raise it by one when PlplotSheet draws the same otherwise.
constexpr int kDrawing = 1;

// Px from the paper's edge to words that begin there.
constexpr double kMargin = 4;

template <class Plain>
std::enable_if_t<std::is_arithmetic_v<Plain> || std::is_enum_v<Plain>> add(std::string& bytes, Plain value)
{
    bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
}

void add(std::string& bytes, const std::string& text)
{
    add(bytes, text.size());
    bytes += text;
}

template <class Value>
void add(std::string& bytes, const std::vector<Value>& values)
{
    add(bytes, values.size());
    for (const Value& value : values) add(bytes, value);
}

void add(std::string& bytes, const GraphBox& box)
{
    const auto& [top, height, low, high, title, upright_numbers, days_below, axes, words] = box;
    add(bytes, std::vector<double>{top, height, low, high});
    add(bytes, title);
    for (const bool one : {upright_numbers, days_below, axes}) add(bytes, one);
    add(bytes, words);
}

/// The last line of a drawing: of what it is one, and that it is whole.
std::string lastLine(const std::string& said, const std::string& svg)
{
    return "<!-- " + contentHash(said) + " " + contentHash(svg) + " -->";
}

}  // namespace

GraphPaper::GraphPaper(int height, Date zero, double days, const Words& words, double right)
    : height_(height), zero_(zero), days_(days), right_(right), words_(words)
{
    add(said_, kDrawing);
    add(said_, PlplotSheet::version());
    add(said_, height);
    add(said_, isoDate(zero));
    add(said_, std::vector<double>{days, right});
    // What stands along the axes is told by these alone.
    for (int day = 0; day < days + 31; day += 28)
        add(said_, words.shortDay(Date{std::chrono::sys_days{zero} + std::chrono::days{day}}));
    add(said_, words.number(0.5, 1));
}

/// What is drawn and what is said of it are the same arguments.
template <class... Args>
void GraphPaper::say(void (PlplotSheet::*step)(Args...), char name, const std::decay_t<Args>&... args)
{
    add(said_, name);
    (add(said_, args), ...);
    steps_.push_back([step, args...](PlplotSheet& sheet) { (sheet.*step)(args...); });
}

void GraphPaper::openBox(const GraphBox& box)
{
    box_ = box;
    say(&PlplotSheet::openBox, 'o', box);
}

void GraphPaper::band(const std::vector<double>& days, const std::vector<double>& lows,
                      const std::vector<double>& highs, Ink ink)
{
    say(&PlplotSheet::band, 'b', days, lows, highs, ink);
}

void GraphPaper::line(const std::vector<double>& days, const std::vector<double>& values, Ink ink,
                      double width, bool dashed)
{
    say(&PlplotSheet::line, 'l', days, values, ink, width, dashed);
}

void GraphPaper::dot(double day, double value, Ink ink, bool open)
{
    say(&PlplotSheet::dot, 'd', day, value, ink, open);
}

void GraphPaper::cross(double day, double value, Ink ink)
{
    say(&PlplotSheet::cross, 'c', day, value, ink);
}

void GraphPaper::smallText(double value, const std::string& words, Ink ink)
{
    smallTextAt(kMargin, yOf(value), words, ink);
}

void GraphPaper::smallTextAt(double x, double y, const std::string& words, Ink ink)
{
    say(&PlplotSheet::smallTextAt, 's', x, y, words, ink);
}

double GraphPaper::xOf(double day) const
{
    return kLeft + (kWidth - kLeft - right_) * day / days_;
}

double GraphPaper::yOf(double value) const
{
    return box_.top + box_.height * (box_.high - value) / (box_.high - box_.low);
}

std::string GraphPaper::svg(const std::string& before) const
{
    const size_t line = before.rfind('\n') + 1;
    if (before.compare(line, std::string::npos, lastLine(said_, before.substr(0, line))) == 0) return before;
    PlplotSheet sheet(height_, zero_, days_, words_, right_);
    for (const auto& step : steps_) step(sheet);
    const std::string drawn = sheet.svg() + "\n";
    return drawn + lastLine(said_, drawn);
}

}  // namespace slipglass
