// What each stage costs, on one thread: a sample photo as it is (900 x 1200) and as a phone's photo of 12
// megapixels. `ratio` compares the whole way of a photo, from file to written masks and overlay, with
// decoding the same file in full, both timed in turn in one run: it hardly depends on the machine.
#include <benchmark/benchmark.h>

#include <malloc.h>
#include <ctime>
#include <functional>
#include <iostream>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "../support/earlier.h"
#include "overlay.h"
#include "peer.h"
#include "photos.h"
#include "slipglass/error.h"
#include "slipglass/observe.h"
#include "slipglass/panel/align.h"
#include "slipglass/panel/quality.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/roots/find_roots.h"
#include "slipglass/water/condition.h"
#include "slipglass/water/water_level.h"

namespace {

namespace fs = std::filesystem;
using namespace slipglass;

/// A photo at every stage of its way, so that each stage can be timed alone.
struct Case {
    std::string name;
    fs::path path;
    PhotoFacts facts;
    TakenAt taken;
    TubInPhoto which;
    std::vector<EarlierView> earlier;
    Settings settings;

    Picture picture;
    Tub tub;
    Panel first, panel;
    EarlierPanel before;
    PanelReading reading;
    Look look;
};

TubInPhoto tubWithLabel(const Picture& picture, const Settings& settings)
{
    TubInPhoto which{"T01", tubType("quart", {}), std::nullopt};
    for (const Label& label : labelsIn(picture, settings.label, {which.tub}))
        if (label.tub == which.tub) which.label = label;
    return which;
}

Look lookAt(const Case& c)
{
    return observe(c.picture, c.facts, c.path.filename().string(), c.taken, c.which, c.earlier, c.settings);
}

void open(Case& c, const fs::path& path)
{
    c.path = path;
    c.facts = readFacts(path);
    c.picture = readPicture(path, c.facts, kPictureSide);
    c.which = tubWithLabel(c.picture, c.settings);
}

TubQuery query(const Case& c)
{
    return {c.picture.bgr, c.picture.full_size, c.facts.focal_35mm, c.which.type, c.which.label};
}

Case prepared(const std::string& name, const fs::path& first, const fs::path& photo)
{
    Case c;
    c.name = name;
    open(c, first);
    c.look = lookAt(c);
    if (!c.look.view) throw Error(first.string(), "cannot be measured", "Mend findTub first");
    c.earlier = {test::earlier(c.look)};
    c.first = *c.look.panel;
    open(c, photo);
    c.look = lookAt(c);
    const auto found = findTub(query(c), c.settings.tub);
    if (!found.tub) throw Error(photo.string(), found.reason, "Mend findTub first");
    c.tub = *found.tub;
    c.panel = unrollWall(c.picture.bgr, c.picture.reduction, c.tub, c.settings.panel);
    const Alignment match = alignTo(c.panel, c.first);
    c.before = {match.warped(c.first.bgr), match.warped(c.first.visible)};
    c.reading = readPanel(c.panel, c.before, c.settings.roots);
    return c;
}

std::string overlayFile(const Picture& picture, const Look& look)
{
    return jpegBytes(drawOverlay(picture, look), 85);
}

/// The whole way of one photo.
void measureWhole(const Case& given)
{
    Case c;
    c.earlier = given.earlier;
    open(c, given.path);
    const Look look = lookAt(c);
    ::benchmark::DoNotOptimize(maskBytes(look.root_mask, c.picture.full_size));
    ::benchmark::DoNotOptimize(maskBytes(look.wall_mask, c.picture.full_size));
    ::benchmark::DoNotOptimize(overlayFile(c.picture, look));
}

void decodeInFull(const Case& c)
{
    ::benchmark::DoNotOptimize(cv::imread(c.path.string()));
}

double cpuSeconds(const std::function<void()>& what)
{
    const auto now = [] {
        timespec t{};
        clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
        return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
    };
    const double start = now();
    what();
    return now() - start;
}

void time(const Case& c, const std::string& stage, const std::function<void()>& what)
{
    ::benchmark::RegisterBenchmark((c.name + " / " + stage).c_str(), [what](::benchmark::State& state) {
        for ([[maybe_unused]] auto _ : state) what();
    })->Unit(::benchmark::kMillisecond);
}

void timeRatio(const Case& c)
{
    const auto both = [&c](::benchmark::State& state) {
        double whole = 0, decoding = 0;
        for ([[maybe_unused]] auto _ : state) {
            whole += cpuSeconds([&] { measureWhole(c); });
            decoding += cpuSeconds([&] { decodeInFull(c); });
        }
        state.counters["ratio"] = whole / decoding;
    };
    ::benchmark::RegisterBenchmark((c.name + " / whole photo : decode in full").c_str(), both)
        ->Unit(::benchmark::kMillisecond)
        ->MinTime(3);
}

void registerStages(const Case& c)
{
    const cv::Mat& bgr = c.picture.bgr;
    const double reduction = c.picture.reduction;
    const auto keep = [](auto&& value) { ::benchmark::DoNotOptimize(value); };
    RootSettings rules = c.settings.roots;
    rules.learned = false;

    time(c, "read facts", [=, &c] { keep(readFacts(c.path)); });
    time(c, "decode at 1500", [=, &c] { keep(readPicture(c.path, c.facts, kPictureSide)); });
    time(c, "decode in full", [&c] { decodeInFull(c); });
    time(c, "labels", [=, &c] { keep(labelsIn(c.picture, c.settings.label, {c.which.tub})); });
    time(c, "find tub", [=, &c] { keep(findTub(query(c), c.settings.tub)); });
    time(c, "unroll", [=, &c, &bgr] { keep(unrollWall(bgr, reduction, c.tub, c.settings.panel)); });
    time(c, "align", [=, &c] { keep(alignTo(c.panel, c.first)); });
    time(c, "roots and water, network", [=, &c] { keep(readPanel(c.panel, c.before, c.settings.roots)); });
    time(c, "roots, rules", [=, &c] { keep(findRoots(c.panel, c.before, rules)); });
    time(c, "root figures", [=, &c] { keep(rootFigures(c.panel, c.reading.roots)); });
    time(c, "water", [=, &c] { keep(waterLevel(c.panel, c.reading.water, 1, c.settings.water)); });
    time(c, "condition", [=, &c, &bgr] { keep(conditionOf(c.panel, c.tub, bgr, reduction, {}, c.before)); });
    time(c, "quality", [=, &c, &bgr] { keep(qualityOf(c.panel, c.tub, bgr, reduction)); });
    time(c, "mask to photo",
         [=, &c, &bgr] { keep(photoMask(c.panel, c.reading.roots.mask, bgr.size(), reduction)); });
    time(c, "wall to photo",
         [=, &c, &bgr] { keep(photoMask(c.panel, c.panel.wall, bgr.size(), reduction)); });
    time(c, "observe", [=, &c] { keep(lookAt(c)); });
    time(c, "write a mask", [=, &c] { keep(maskBytes(c.look.root_mask, c.picture.full_size)); });
    time(c, "write the overlay", [=, &c] { keep(overlayFile(c.picture, c.look)); });
    timeRatio(c);
}

}  // namespace

int main(int argc, char** argv)
try {
    ::benchmark::Initialize(&argc, argv);
    if (::benchmark::ReportUnrecognizedArguments(argc, argv)) return 1;
    cv::setNumThreads(1);
    mallopt(M_MMAP_THRESHOLD, 1 << 30);  // as src/cli/main.cpp does
    mallopt(M_TRIM_THRESHOLD, 1 << 30);
    const fs::path photos = fs::path(SLIPGLASS_SAMPLES) / "photos";
    const fs::path first = photos / "T01_2026-01-12.jpg", later = photos / "T01_2026-02-09.jpg";
    const slipglass::benchmark::TemporaryFolder folder;
    const Case small = prepared("1 MP", first, later);
    const Case phone = prepared("12 MP", slipglass::benchmark::writePhonePhoto(first, folder.path()),
                                slipglass::benchmark::writePhonePhoto(later, folder.path()));
    registerStages(small);
    registerStages(phone);
    ::benchmark::RunSpecifiedBenchmarks();
    slipglass::benchmark::printBesidePeer(SLIPGLASS_SAMPLES, folder.path());
    return 0;
} catch (const std::exception& problem) {
    std::cerr << problem.what() << '\n';
    return 1;
}
