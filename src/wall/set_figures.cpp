#include "slipglass/wall/set_figures.h"

#include "slipglass/coverage_interval.h"

namespace slipglass {

void setRoots(Observation& seen, const Panel& panel, const RootMap& roots, int photos_read)
{
    const RootFigures figures = rootFigures(panel, roots);
    seen.coverage_percent = figures.coverage_percent;
    seen.browned_percent = figures.browned_percent;
    seen.photos_read = photos_read;
    if (figures.coverage_percent) {
        const CoverageInterval interval =
            coverageInterval(*figures.coverage_percent, photos_read, seen.state);
        seen.coverage_low = interval.low;
        seen.coverage_high = interval.high;
    }
    if (!panel.in_mm) return;
    seen.root_length_mm = figures.length_mm;
    seen.root_width_mm = figures.width_mm;
    seen.deepest_root_mm = figures.deepest_mm;
}

void setParts(Observation& seen, const WallView& view, const WallReading& reading, cv::Size first_size,
              const TubParts& tub, const PartSettings& settings)
{
    seen.parts.clear();
    std::vector<AcrossWall> cuttings;
    for (const auto& part : tub.parts) cuttings.push_back(part.across);
    const auto parts = readParts(view, reading.roots, first_size, cuttings, settings);
    for (size_t i = 0; i < parts.size(); ++i) {
        const RootFigures& figures = parts[i].figures;
        PartFigures part;
        part.place = tub.parts[i].place;
        part.coverage_percent = figures.coverage_percent;
        part.browned_percent = figures.browned_percent;
        if (figures.coverage_percent) {
            const CoverageInterval interval =
                coverageInterval(*figures.coverage_percent, reading.photos_read, seen.state);
            part.coverage_low = interval.low;
            part.coverage_high = interval.high;
        }
        if (view.panel.in_mm) {
            part.root_length_mm = figures.length_mm;
            part.root_width_mm = figures.width_mm;
            part.deepest_root_mm = figures.deepest_mm;
            part.shared_root_mm = parts[i].shared_mm;
            part.meets_next_mm = parts[i].meets_next_mm;
        }
        seen.parts.push_back(part);
    }
}

void setReading(Observation& seen, const WallView& view, const WallReading& reading)
{
    setRoots(seen, view.panel, reading.roots, reading.photos_read);
    if (!view.panel.in_mm) return;
    seen.gained_root_mm = reading.gained_mm;
    seen.hidden_root_mm = reading.hidden_mm;
    seen.lost_root_mm = reading.lost_mm;
}

}  // namespace slipglass
