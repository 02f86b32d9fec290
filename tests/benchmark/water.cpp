// How well water is told, and by which thresholds, on rendered scenes with exact truth: the network and the
// level plane alone, on walls placed by the true camera. What is chosen, is chosen by folds over tubs (a
// tub's number modulo 5) and told of the tubs it was not chosen on. Prints docs/measured/water.md.
//
//   build/tests/benchmark/slipglass_water_benchmark SCENES... [--alone] [--foot-off MM] [--planes DIR]
//   [--list]
//
// SCENES: folders with photos/ and truth/, as sample-images.
#include <CLI/CLI.hpp>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numeric>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>

#include "level_profile.h"
#include "slipglass/observe.h"
#include "slipglass/panel/align.h"
#include "true_tub.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

/// A photo as it was rendered, and what the program makes of it.
struct Case {
    std::string tub, date;
    int fold = 0;
    double true_mm = 0;
    Panel panel;
    WaterEvidence evidence;
    LevelProfile profile;
};

json jsonIn(const fs::path& path)
{
    std::ifstream file(path);
    return json::parse(file);
}

/// Evidence kept in a folder, so that choosing again does not run the network again.
std::optional<WaterEvidence> kept(const fs::path& stem)
{
    WaterEvidence evidence;
    for (auto [plane, ending] : {std::pair{&evidence.below, ".below.png"}, {&evidence.line, ".line.png"}}) {
        const cv::Mat picture = cv::imread(stem.string() + ending, cv::IMREAD_UNCHANGED);
        if (picture.empty()) return std::nullopt;
        picture.convertTo(*plane, CV_32F, 1.0 / 65535);
    }
    return evidence;
}

void keep(const fs::path& stem, const WaterEvidence& evidence)
{
    fs::create_directories(stem.parent_path());
    for (auto [plane, ending] : {std::pair{evidence.below, ".below.png"}, {evidence.line, ".line.png"}}) {
        cv::Mat picture;
        plane.convertTo(picture, CV_16U, 65535);
        cv::imwrite(stem.string() + ending, picture);
    }
}

struct Options {
    std::vector<fs::path> scenes;
    bool alone = false, list = false;
    double foot_off_mm = 0;
    fs::path planes;
};

std::vector<Case> casesIn(const fs::path& scenes, const Options& options)
{
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(scenes / "truth"))
        if (entry.path().string().ends_with(".truth.json")) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    std::vector<Case> cases;
    std::optional<Panel> first;
    for (const fs::path& file : files) {
        const json truth = jsonIn(file);
        Case c;
        c.tub = truth["tub"];
        c.date = truth["date"];
        c.fold = std::stoi(c.tub.substr(1)) % 5;
        c.true_mm = truth["water_level_mm"].is_null() ? 0.0 : truth["water_level_mm"].get<double>();
        const cv::Mat photo = cv::imread((scenes / "photos" / truth["photo"].get<std::string>()).string());
        c.panel = unrollWall(photo, 1, trueTub(truth), {});
        if (cases.empty() || cases.back().tub != c.tub) first.reset();
        const fs::path stem = options.planes / (c.tub + "_" + c.date + (options.alone ? ".alone" : ""));
        auto evidence = options.planes.empty() ? std::nullopt : kept(stem);
        if (!evidence) {
            std::optional<EarlierPanel> before;
            if (first && !options.alone)
                if (const Alignment match = alignTo(c.panel, *first); match.good)
                    before = EarlierPanel{match.warped(first->bgr), match.warped(first->visible)};
            evidence = readPanel(c.panel, before, {}).water;
            if (!options.planes.empty()) keep(stem, *evidence);
        }
        if (!first) first = c.panel;
        c.evidence = *evidence;
        const double top_mm = c.panel.top;
        std::vector<double> offs = {0};
        if (options.foot_off_mm > 0) offs.insert(offs.end(), {-options.foot_off_mm, options.foot_off_mm});
        for (const double off : offs) {
            c.panel.top = top_mm + off;
            c.profile = levelProfile(c.panel, c.evidence);
            cases.push_back(c);
        }
    }
    return cases;
}

/// How readings compare with the truth.
struct Score {
    int right_wet = 0, false_wet = 0, missed = 0, missed_deep = 0, right_dry = 0, open = 0, held = 0,
        intervals = 0;
    std::vector<double> off_mm;  ///< where water stands and has a level
    std::vector<double> width_mm;

    void add(const Case& c, const WaterReading& said)
    {
        const bool wet = c.true_mm >= kStandingMm;
        const std::optional<bool> stands_there = stands({said.level, said.low, said.high}, kStandingMm);
        if (!stands_there) ++open;
        if (stands_there == true) ++(wet ? right_wet : false_wet);
        if (stands_there == false) ++(wet ? missed : right_dry);
        missed_deep += stands_there == false && c.true_mm >= 5;
        if (wet && said.level) off_mm.push_back(std::abs(*said.level - c.true_mm));
        if (!said.low || !said.high) return;
        ++intervals;
        held += *said.low <= c.true_mm && c.true_mm <= *said.high;
        width_mm.push_back(*said.high - *said.low);
    }
    /// What a grower would mind, in photos left open. Guess.
    double harm() const { return open + 5 * false_wet + 4 * missed + 10 * missed_deep; }
    double heldShare() const { return static_cast<double>(held) / std::max(1, intervals); }

    static constexpr double kStandingMm = 2;
};

void list(const Case& c)
{
    const WaterReading said = readingOf(c.profile, c.panel, {});
    const auto text = [](const std::optional<double>& v) {
        char out[16] = "-";
        if (v) std::snprintf(out, sizeof out, "%.1f", *v);
        return std::string(out);
    };
    LevelSupport best{0, {}, -99}, film = best;
    for (const LevelSupport& at : c.profile.heights) {
        LevelSupport& kind = at.level >= Score::kStandingMm ? best : film;
        if (at.support > kind.support) kind = at;
    }
    std::printf(
        "%s %s true %5.1f said %5s [%5s %5s] best %5.1f: %6.2f, film %.1f: %.2f tilt %+.3f %+.3f foot %.2f "
        "%.1f px/mm "
        "%s\n",
        c.tub.c_str(), c.date.c_str(), c.true_mm, text(said.level).c_str(), text(said.low).c_str(),
        text(said.high).c_str(), best.level, best.support, film.level, film.support, best.tilt.right,
        best.tilt.near, c.profile.foot_seen, c.panel.px_per_unit, said.note.c_str());
}

double share(std::vector<double> values, double part)
{
    if (values.empty()) return NAN;
    std::sort(values.begin(), values.end());
    return values[static_cast<size_t>(std::lround(part * static_cast<double>(values.size() - 1)))];
}

void tell(const std::string& what, const Score& s)
{
    const double said = s.right_wet + s.false_wet, wet = s.right_wet + s.missed;
    std::printf("| %s | %.2f, %.2f | %d | %d | %.2f, %.2f | %.0f %%, %.1f mm |\n", what.c_str(),
                s.right_wet / std::max(1.0, said), s.right_wet / std::max(1.0, wet), s.missed_deep, s.open,
                share(s.off_mm, 0.5), share(s.off_mm, 0.9), 100 * s.heldShare(), share(s.width_mm, 0.5));
}

Score scoreOf(const std::vector<const Case*>& cases, const WaterSettings& settings)
{
    Score score;
    for (const Case* c : cases) score.add(*c, readingOf(c->profile, c->panel, settings));
    return score;
}

/// First what does least harm, then the narrowest interval that holds 90 % of the truths.
WaterSettings chosenOn(const std::vector<const Case*>& cases)
{
    WaterSettings best;
    double least = 1e9;
    for (int dry = 0; dry <= 16; ++dry)  // quarters
        for (int water = 0; water <= 24; ++water) {
            WaterSettings tried;
            tried.dry_support = dry / 4.0;
            tried.water_support = water / 4.0;
            const double harm = scoreOf(cases, tried).harm();
            if (harm >= least) continue;
            least = harm;
            best = tried;
        }
    double narrowest = 1e9;
    WaterSettings chosen = best;
    for (int support = 1; support <= 16; ++support)
        for (int error = 1; error <= 25; ++error) {
            WaterSettings tried = best;
            tried.interval_support = support / 4.0;
            tried.level_error_mm = error / 10.0;
            const Score score = scoreOf(cases, tried);
            const double width = std::accumulate(score.width_mm.begin(), score.width_mm.end(), 0.0);
            if (score.heldShare() < 0.9 || width >= narrowest) continue;
            narrowest = width;
            chosen = tried;
        }
    return chosen;
}

void choose(const std::vector<Case>& cases)
{
    const auto part = [&](const auto& wanted) {
        std::vector<const Case*> chosen;
        for (const Case& c : cases)
            if (wanted(c)) chosen.push_back(&c);
        return chosen;
    };
    std::printf(
        "| | standing water: precision, recall | of 5 mm missed | open | level off: median, 90 %% | interval "
        "holds, width |\n|---|---|---|---|---|---|\n");
    Score held_out;
    for (int fold = 0; fold < 5; ++fold) {
        const WaterSettings s = chosenOn(part([&](const Case& c) { return c.fold != fold; }));
        const auto others = part([&](const Case& c) { return c.fold == fold; });
        for (const Case* c : others) held_out.add(*c, readingOf(c->profile, c->panel, s));
        char what[120];
        std::snprintf(what, sizeof what, "fold %d: water %.1f, dry %.1f, interval %.2f, error %.1f", fold,
                      s.water_support, s.dry_support, s.interval_support, s.level_error_mm);
        tell(what, scoreOf(others, s));
    }
    tell("by folds", held_out);
    const auto all = part([](const Case&) { return true; });
    const WaterSettings s = chosenOn(all);
    char what[120];
    std::snprintf(what, sizeof what, "all: water %.1f, dry %.1f, interval %.2f, error %.1f", s.water_support,
                  s.dry_support, s.interval_support, s.level_error_mm);
    tell(what, scoreOf(all, s));
    tell("as shipped", scoreOf(all, {}));
}

}  // namespace
}  // namespace slipglass

int main(int count, char** arguments)
{
    using namespace slipglass;
    cv::setNumThreads(1);
    CLI::App app("Chooses and tells how well water is told");
    Options options;
    app.add_option("SCENES", options.scenes)->required()->check(CLI::ExistingDirectory);
    app.add_flag("--alone", options.alone, "each photo without the tub's first");
    app.add_option(
        "--foot-off", options.foot_off_mm,
        "each photo twice more, with the foot placed so many mm too high and too low, as outlines are off");
    app.add_flag("--list", options.list, "a line a photo");
    app.add_option("--planes", options.planes,
                   "keep the network's evidence in this folder, or take it from there");
    CLI11_PARSE(app, count, arguments);
    std::vector<Case> cases;
    for (const fs::path& scenes : options.scenes)
        for (Case& c : casesIn(scenes, options)) {
            if (options.list) list(c);
            cases.push_back(std::move(c));
        }
    choose(cases);
    return 0;
}
