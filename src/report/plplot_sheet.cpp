#include "plplot_sheet.h"

#include <plplot.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <new>
#include <string_view>

#include "slipglass/error.h"
#include "slipglass/terminal_text.h"

namespace slipglass {

namespace {

std::mutex plplot_is_used;

// On paper of 90 dots per inch: 14 px, and 12.
constexpr double kLetters_mm = 4.0, kSmall = 0.85;

struct Rgb {
    PLINT r, g, b;
};
// In the order of Ink. Roots, water and wetness differ in lightness as well, and each has a graph of its own.
constexpr std::array<Rgb, 13> kInks{{{255, 255, 255},
                                     {51, 51, 46},
                                     {222, 222, 212},
                                     {146, 74, 22},
                                     {243, 221, 200},
                                     {92, 84, 20},
                                     {12, 100, 132},
                                     {204, 228, 238},
                                     {120, 120, 112},
                                     {74, 92, 150},
                                     {150, 30, 30},
                                     {30, 90, 50},
                                     {226, 232, 204}}};

constexpr size_t kWordLetters = 5;       // of a word beside the upright axis, at full size
constexpr double kRoomForLetters = 4.5;  // of wide ones

void take(Ink ink)
{
    plcol0(static_cast<PLINT>(ink));
}

/// PLplot ends a program where it cannot go on, and has crashed on the way out over what it had half done:
/// ended here instead, with a line.
int endProgram(PLCHAR_VECTOR said)
{
    std::fprintf(stderr,
                 "slipglass: a graph could not be drawn: PLplot: %s. Close other programs, then run again; "
                 "what was done is kept.\n",
                 said);
    std::_Exit(EXIT_FAILURE);
}

/// What the axes are labelled with.
struct Labels {
    Date zero;
    const GraphBox* box;
    const Words* words;
};

/// "12 Jan", or a word of the box, whatever the locale. @param data  Labels.
void axisLabel(PLINT axis, PLFLT value, char* label, PLINT length, PLPointer data)
{
    const auto& labels = *static_cast<const Labels*>(data);
    std::string text;
    if (axis == PL_X_AXIS) {
        text = labels.words->shortDay(Date{std::chrono::sys_days{labels.zero} +
                                           std::chrono::days{static_cast<int>(std::lround(value))}});
    } else if (labels.box->words.empty()) {
        const std::string shortest = exactText(std::round(value * 1e6) / 1e6);
        const size_t point = shortest.find('.');
        text = point == std::string::npos
                   ? shortest
                   : labels.words->number(value, static_cast<int>(shortest.size() - point - 1));
    } else {
        const double steps = static_cast<double>(labels.box->words.size()) - 1;
        const auto nth = static_cast<size_t>(std::clamp(std::round(value * steps), 0.0, steps));
        text = labels.box->words[nth];
    }
    std::snprintf(label, static_cast<size_t>(length), "%s", text.c_str());
}

/// Whole weeks between ticks, so that about four labels fit.
double tickDays(double days)
{
    return 7.0 * std::max(1.0, std::ceil(days / 7.0 / 4.5));
}

std::string scratchPath()
{
    std::string path = (std::filesystem::temp_directory_path() / "slipglass-graph-XXXXXX").string();
    const int file = mkstemp(path.data());
    if (file < 0) throw Error(path, "cannot be made", "Check that the folder for temporary files has room");
    close(file);
    return path;
}

void replaceAll(std::string& text, const std::string& what, const std::string& with)
{
    size_t at = 0;
    while ((at = text.find(what, at)) != std::string::npos) {
        text.replace(at, what.size(), with);
        at += with.size();
    }
}

/// The same drawing in half the bytes: what says nothing, and what every reader takes for granted, goes.
std::string tidied(const std::string& svg)
{
    std::string flat;
    bool blank = false;
    for (const char c : svg) {
        if (c == '\n' || c == ' ') {
            blank = true;
            continue;
        }
        if (blank && !flat.empty() && flat.back() != '>' && c != '>' && c != '<') flat += ' ';
        if (blank && (c == '>' || c == '<') && !flat.empty() && flat.back() == '>') flat += '\n';
        blank = false;
        flat += c;
    }
    for (const char* idle :
         {" stroke-opacity=\"1.000000\"", " fill-opacity=\"1.000000\"", " fill-rule=\"nonzero\"",
          " font-style=\"normal\"", " font-weight=\"normal\"", " dominant-baseline=\"no-change\"",
          " x=\"0.000000\"", " xmlns:xlink=\"http://www.w3.org/1999/xlink\"", " xml:space=\"preserve\""})
        replaceAll(flat, idle, "");
    replaceAll(flat, "1.000000 0.000000 0.000000 -1.000000", "1 0 0 -1");
    replaceAll(flat, "stroke-width=\"1.000000e+00\"", "stroke-width=\"1\"");
    replaceAll(flat, "stroke-width=\"2.000000e+00\"", "stroke-width=\"2\"");
    return flat;
}

}  // namespace

std::string PlplotSheet::version()
{
    std::array<char, 80> text{};  // as long as PLplot asks for
    plgver(text.data());
    return text.data();
}

PlplotSheet::PlplotSheet(int height, Date zero, double days, const Words& words, double right)
    : one_at_a_time_(plplot_is_used),
      path_(scratchPath()),
      height_(height),
      zero_(zero),
      days_(days),
      right_(right),
      words_(words)
{
    plsError(&gone_wrong_, said_.data());  // else it says so on stderr, and goes on
    plsexit(endProgram);
    for (size_t i = 0; i < kInks.size(); ++i)
        plscol0(static_cast<PLINT>(i), kInks[i].r, kInks[i].g, kInks[i].b);
    plsdev("svg");
    plsfnam(path_.c_str());
    plspage(90, 90, GraphPaper::kWidth, height, 0, 0);
    plinit();
    plfont(1);
    pladv(0);
    plschr(kLetters_mm, 1.0);
    plssym(4.0, 1.4);
}

PlplotSheet::~PlplotSheet()
{
    if (open_) plend();
    plsError(nullptr, nullptr);
    std::error_code ignored;
    std::filesystem::remove(path_, ignored);
}

void PlplotSheet::openBox(const GraphBox& box)
{
    box_ = box;
    openWindow();
    Labels labels{zero_, &box_, &words_};
    plslabelfunc(axisLabel, &labels);
    if (box.axes) drawAxes();
    take(Ink::ink);
    if (!box.title.empty()) plmtex("t", 0.6, 0, 0, box.title.c_str());
    plslabelfunc(nullptr, nullptr);
}

void PlplotSheet::openWindow()
{
    const double height = height_;
    plvpor(GraphPaper::kLeft / GraphPaper::kWidth, 1 - right_ / GraphPaper::kWidth,
           1 - (box_.top + box_.height) / height, 1 - box_.top / height);
    plwind(0, days_, box_.low, box_.high);
}

void PlplotSheet::drawAxes()
{
    const double tick = tickDays(days_);
    const double upright = box_.words.size() > 1 ? 1 / (static_cast<double>(box_.words.size()) - 1) : 0;
    take(Ink::grid);
    plbox("g", tick, 0, box_.upright_numbers ? "g" : "", upright, 0);
    take(Ink::ink);
    // Numbers are short; words are as long as the language has them.
    size_t longest = 0;
    for (const std::string& word : box_.words) longest = std::max(longest, terminalWidth(word));
    if (longest > kWordLetters) {
        plbox(box_.days_below ? "bnost" : "b", tick, static_cast<PLINT>(tick / 7), "", 0, 0);
        plschr(kLetters_mm, kRoomForLetters / static_cast<double>(longest));
        plbox("", 0, 0, box_.upright_numbers ? "bnotv" : "", upright, 0);
        plschr(kLetters_mm, 1);
        return;
    }
    plbox(box_.days_below ? "bnost" : "b", tick, static_cast<PLINT>(tick / 7),
          box_.upright_numbers ? "bnotv" : "", upright, 0);
}

void PlplotSheet::band(const std::vector<double>& days, const std::vector<double>& lows,
                       const std::vector<double>& highs, Ink ink)
{
    if (days.size() < 2) return;
    std::vector<PLFLT> x(days), y(highs);
    x.insert(x.end(), days.rbegin(), days.rend());
    y.insert(y.end(), lows.rbegin(), lows.rend());
    take(ink);
    plfill(static_cast<PLINT>(x.size()), x.data(), y.data());
}

void PlplotSheet::line(const std::vector<double>& days, const std::vector<double>& values, Ink ink,
                       double width, bool dashed)
{
    take(ink);
    plwidth(width);
    if (dashed) pllsty(2);
    plline(static_cast<PLINT>(days.size()), days.data(), values.data());
    pllsty(1);
    plwidth(1);
}

void PlplotSheet::dot(double day, double value, Ink ink, bool open)
{
    take(ink);
    plwidth(2);
    plpoin(1, &day, &value, open ? 4 : 17);
    plwidth(1);
}

void PlplotSheet::cross(double day, double value, Ink ink)
{
    take(ink);
    plwidth(2);
    plpoin(1, &day, &value, 5);
    plwidth(1);
}

void PlplotSheet::smallTextAt(double x, double y, const std::string& words, Ink ink)
{
    // On the whole paper, for words are clipped to the box as lines are.
    plvpor(0, 1, 0, 1);
    plwind(0, GraphPaper::kWidth, height_, 0);
    plschr(kLetters_mm, kSmall);
    std::string plain = words;
    replaceAll(plain, "#", "##");  // PLplot takes a single one for a command
    take(ink);
    plptex(x, y, 1, 0, 0, plain.c_str());
    plschr(kLetters_mm, 1.0);
    openWindow();
}

std::string PlplotSheet::svg()
{
    plend();
    open_ = false;
    if (std::string_view(said_.data()).find("memory") != std::string_view::npos) throw std::bad_alloc();
    std::ifstream file(path_, std::ios::binary);
    const std::string drawn{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    if (gone_wrong_ != 0 || drawn.find("</svg>") == std::string::npos)
        throw Error(
            path_, "a graph could not be drawn",
            "Check that the folder for temporary files has room, and that PLplot's svg driver is installed");
    return tidied(drawn);
}

}  // namespace slipglass
