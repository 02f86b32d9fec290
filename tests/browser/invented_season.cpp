// invented_season OUT TUBS DATES MEASURED: writes the report of an invented season of that size, with the
// pictures of a measured one, so that pages can be tried at sizes that nobody wants to measure for it.
#include <cmath>
#include <filesystem>
#include <iostream>
#include <string>

#include "../support/season_maker.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/write_report.h"

namespace {

namespace fs = std::filesystem;
using namespace slipglass;

std::string idOf(const char* kind, int n)
{
    std::string digits = std::to_string(n < 1000 ? 1000 + n : n);
    return kind + digits.substr(n < 1000 ? 1 : 0);
}

/// A tub that roots sooner or later, or not at all, and now and then stands in water.
Observation observationOf(int tub, int nth)
{
    const int day = 7 * nth;
    Observation seen = test::covered(day, 0, idOf("T", tub));
    const double start = 14 + tub % 30, top = tub % 7 == 0 ? 0 : 3.0 + tub % 9;
    const double grown = top / (1 + std::exp(-(day - start - 20) / 6.0));
    seen.coverage_percent = grown;
    seen.coverage_low = std::max(0.0, 0.85 * grown - 0.1);
    seen.coverage_high = 1.15 * grown + 0.25;
    seen.root_length_mm = 90 * grown;
    seen.deepest_root_mm = 40;
    seen.browned_percent = 10.0 + tub % 5;
    seen.wall_lightness = 40 + 0.2 * (nth % 6);
    seen.water_level_mm = tub % 11 == 3 && nth > 2 ? 6.0 : 0.0;
    seen.water_low_mm = seen.water_level_mm;
    seen.water_high_mm = *seen.water_level_mm + 1;
    seen.water = {seen.water_level_mm, seen.water_low_mm, seen.water_high_mm};
    seen.outline = {{200, 200}, {700, 200}, {640, 1000}, {260, 1000}};
    if (tub % 13 == 5 && nth == 1) {
        seen.state = State::caution;
        seen.notes = {"glare over a tenth of the wall"};
    }
    return seen;
}

Plan planOf(int tubs)
{
    const char* const media[] = {"vermiculite", "perlite", "peat", "half and half"};
    const char* const varieties[] = {"Quince Plot Nine", "Mulberry Top Gate", "Plum Water Butt"};
    Plan plan;
    for (int tub = 1; tub <= tubs; ++tub) {
        PlannedCutting row = test::planned(idOf("C", tub), idOf("T", tub));
        row.medium = media[tub % 4];
        row.variety = varieties[tub % 3];
        row.treatment = tub % 2 ? "rooting hormone" : "no hormone";
        row.position = "bench " + std::to_string(tub % 9 + 1);
        plan.cuttings.push_back(row);
    }
    return plan;
}

/// The same file under another name, without its bytes a second time where the disk can do that.
void sameFile(const fs::path& from, const fs::path& to)
{
    fs::create_directories(to.parent_path());
    std::error_code refused;
    fs::create_hard_link(from, to, refused);
    if (refused) fs::copy_file(from, to);
}

void addPictures(const fs::path& out, const fs::path& measured, const std::vector<Observation>& seen)
{
    const PagePictureNames model = pagePictureNames("overlays/T01/2026-02-24.jpg");
    for (const auto& [photo_and_tub, overlay] : overlayNames(seen)) {
        const PagePictureNames names = pagePictureNames(overlay);
        for (const auto name : {&PagePictureNames::photo, &PagePictureNames::small, &PagePictureNames::found,
                                &PagePictureNames::wall, &PagePictureNames::facts})
            sameFile(measured / (model.*name), out / (names.*name));
        const std::string& tub = photo_and_tub.second;
        if (fs::exists(out / growthMapName(tub))) continue;
        sameFile(measured / growthMapName("T01"), out / growthMapName(tub));
        sameFile(measured / growthLegendName("T01"), out / growthLegendName(tub));
    }
}

}  // namespace

int main(int argc, char** argv)
{
    if (argc != 5) {
        std::cerr << "usage: invented_season OUT TUBS DATES MEASURED\n";
        return 1;
    }
    const fs::path out = argv[1], measured = argv[4];
    const int tubs = std::stoi(argv[2]), dates = std::stoi(argv[3]);
    std::vector<Observation> seen;
    for (int tub = 1; tub <= tubs; ++tub)
        for (int nth = 0; nth < dates; ++nth) seen.push_back(observationOf(tub, nth));
    addPictures(out, measured, seen);
    writeReport(buildSeason(seen, {}, planOf(tubs), {}), out);
    return 0;
}
