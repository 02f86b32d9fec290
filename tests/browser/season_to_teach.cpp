// Samples as under a lamp that the root map was not made for, measured, with what a careful person would draw
// on some of them, by truth: a season that teaching makes better. Each photo is read by itself, as in
// tests/measure/test_teach.cpp.
#include <iostream>
#include <opencv2/imgcodecs.hpp>

#include "../support/purple_lamp.h"
#include "../support/strokes_from_truth.h"
#include "slipglass/measure.h"
#include "slipglass/store/write_file.h"

using namespace slipglass;
namespace fs = std::filesystem;

namespace {

const std::vector<std::string> kDrawnOn = {"T03_2026-01-28", "T03_2026-02-04", "T03_2026-02-12",
                                           "T03_2026-03-04"};
const std::string kOther = "T03_2026-02-22";

cv::Mat maskOf(const fs::path& path)
{
    return cv::imread(path.string(), cv::IMREAD_GRAYSCALE);
}

void light(const fs::path& samples, const std::string& stem, const fs::path& out)
{
    fs::create_directories(out / "photos");
    test::writeUnderPurpleLamp(samples / "photos" / (stem + ".jpg"), out / "photos" / (stem + ".jpg"));
}

}  // namespace

int main(int argc, char** argv)
{
    if (argc != 3) {
        std::cerr << "usage: season_to_teach OUT SAMPLES\n";
        return 1;
    }
    const fs::path out = argv[1], samples = argv[2];
    for (const std::string& stem : kDrawnOn) light(samples, stem, out);
    light(samples, kOther, out);
    writeFile(out / "settings.json", R"({"roots": {"history": false}})");
    writeFile(out / "batch.csv", "tub,tub_type\nT03,quart\n");
    MeasureOptions options;
    options.photos = {out / "photos"};
    options.out = out;
    options.batch = out / "batch.csv";
    options.settings = out / "settings.json";
    options.today = today();
    measure(options, {});
    for (const std::string& stem : kDrawnOn) {
        Correction drawn;
        drawn.strokes = test::strokesFromTruth(maskOf(out / "masks" / (stem + ".roots.png")),
                                               maskOf(samples / "truth" / (stem + ".roots.png")),
                                               maskOf(out / "masks" / (stem + ".wall.png")));
        writeFile(out / "corrections" / (stem + ".json"), correctionText(drawn));
        std::cout << stem << ": " << drawn.strokes.size() << " strokes\n";
    }
    return 0;
}
