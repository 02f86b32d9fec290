#include "quality_curves.h"

#include <plplot.h>

#include <algorithm>
#include <map>
#include <sstream>

namespace slipglass::benchmark {

namespace {

constexpr double kTextSize = 1.6;  // of PLplot's

/// One step of a curve.
struct Step {
    std::string label;
    std::vector<PhotoAgreement> photos;
    int all = 0, measured = 0;
};

struct Curve {
    std::string kind, unit;
    std::vector<Step> steps;  ///< the photo as it is first
};

std::string labelOf(const Trial& trial)
{
    if (trial.kind == "none") return "as is";
    std::ostringstream text;
    text.imbue(std::locale::classic());
    text << trial.amount;
    return text.str();
}

void addTo(std::vector<Step>& steps, const Trial& trial)
{
    const std::string label = labelOf(trial);
    if (steps.empty() || steps.back().label != label) {
        steps.emplace_back();
        steps.back().label = label;
    }
    Step& step = steps.back();
    step.photos.push_back(trial.agreement);
    ++step.all;
    step.measured += trial.told == State::measured;
}

/// Trials come by kind and step.
std::vector<Curve> curvesOf(const std::vector<Trial>& trials)
{
    std::vector<Curve> curves;
    std::vector<Step> as_it_is;
    for (const Trial& trial : trials) {
        if (trial.first == First::alike || trial.kind.starts_with("filled")) continue;
        if (trial.kind == "none") {
            addTo(as_it_is, trial);
            continue;
        }
        if (curves.empty() || curves.back().kind != trial.kind)
            curves.push_back({trial.kind, trial.unit, as_it_is});
        addTo(curves.back().steps, trial);
    }
    return curves;
}

enum Colour : PLINT { kPaper = 0, kInk, kGrid, kDice, kMeasured };

void drawLine(const std::vector<PLFLT>& x, const std::vector<PLFLT>& y, PLINT colour, PLINT style)
{
    plcol0(colour);
    pllsty(style);
    plwidth(2);
    plline(static_cast<PLINT>(x.size()), x.data(), y.data());
    plwidth(1);
    pllsty(1);
    plpoin(static_cast<PLINT>(x.size()), x.data(), y.data(), 17);
}

void drawCurve(const Curve& curve)
{
    std::vector<PLFLT> x, measured, dice_x, dice;
    for (const Step& step : curve.steps) {
        x.push_back(static_cast<PLFLT>(x.size()));
        measured.push_back(static_cast<PLFLT>(step.measured) / std::max(1, step.all));
        if (const auto value = summaryOf(step.photos).dice) {
            dice_x.push_back(x.back());
            dice.push_back(*value);
        }
    }
    pladv(0);
    plvpor(0.14, 0.97, 0.36, 0.86);
    plwind(-0.2, static_cast<PLFLT>(x.size()) - 0.8, -0.03, 1.05);
    plcol0(kGrid);
    plbox("", 0, 0, "g", 0.5, 0);
    plcol0(kInk);
    plbox("bc", 0, 0, "bcntv", 0.5, 0);  // no number without its tick
    plmtex("t", 0.7, 0, 0, curve.kind.c_str());
    plschr(0, 1.3);  // the longest unit is as wide as its graph
    plmtex("b", 3.6, 0.5, 0.5, curve.unit.c_str());
    plschr(0, kTextSize);
    for (size_t i = 0; i < x.size(); ++i)
        plmtex("b", 1.3, (x[i] + 0.2) / (static_cast<PLFLT>(x.size()) - 0.6), 0.5,
               curve.steps[i].label.c_str());
    drawLine(x, measured, kMeasured, 2);
    drawLine(dice_x, dice, kDice, 1);
}

}  // namespace

void drawCurves(const std::vector<Trial>& trials, const std::filesystem::path& file)
{
    const std::vector<Curve> curves = curvesOf(trials);
    if (curves.empty()) return;
    constexpr int kColumns = 3, kWidth = 250, kHeight = 150;
    const int rows = (static_cast<int>(curves.size()) + kColumns) / kColumns;  // and a place for the key
    plscol0(kPaper, 255, 255, 255);
    plscol0(kInk, 51, 51, 46);
    plscol0(kGrid, 222, 222, 212);
    plscol0(kDice, 146, 74, 22);
    plscol0(kMeasured, 12, 100, 132);
    plsdev("svg");
    plsfnam(file.c_str());
    plspage(90, 90, kColumns * kWidth, rows * kHeight, 0, 0);
    plssub(kColumns, rows);
    plinit();
    plfont(1);
    plschr(0, kTextSize);
    plssym(0, 1);
    for (const Curve& curve : curves) drawCurve(curve);
    pladv(0);
    plvpor(0.14, 0.97, 0.36, 0.86);
    plwind(0, 1, 0, 1);
    drawLine({0, 0.15}, {0.8, 0.8}, kDice, 1);
    drawLine({0, 0.15}, {0.5, 0.5}, kMeasured, 2);
    plcol0(kInk);
    plptex(0.2, 0.8, 1, 0, 0, "Dice of roots");
    plptex(0.2, 0.5, 1, 0, 0, "share measured");
    plend();
}

}  // namespace slipglass::benchmark
