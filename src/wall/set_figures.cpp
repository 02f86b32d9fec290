#include "slipglass/wall/set_figures.h"

#include "slipglass/coverage_interval.h"

namespace slipglass {

namespace {

/// Lengths only where the panel is in mm.
RootMeasures measuresOf(const RootFigures& figures, bool in_mm, int photos_read, State state)
{
    RootMeasures measures;
    measures.coverage_percent = figures.coverage_percent;
    measures.browned_percent = figures.browned_percent;
    if (figures.coverage_percent) {
        const CoverageInterval interval = coverageInterval(*figures.coverage_percent, photos_read, state);
        measures.coverage_low = interval.low;
        measures.coverage_high = interval.high;
    }
    if (!in_mm) return measures;
    measures.root_length_mm = figures.length_mm;
    measures.root_width_mm = figures.width_mm;
    measures.deepest_root_mm = figures.deepest_mm;
    return measures;
}

}  // namespace

void setRoots(Observation& seen, const Panel& panel, const RootMap& roots, int photos_read)
{
    static_cast<RootMeasures&>(seen) =
        measuresOf(rootFigures(panel, roots), panel.in_mm, photos_read, seen.state);
    seen.photos_read = photos_read;
}

void setParts(Observation& seen, const WallView& view, const WallReading& reading, cv::Size first_size,
              const TubParts& tub, const PartSettings& settings)
{
    seen.parts.clear();
    std::vector<AcrossWall> cuttings;
    for (const auto& part : tub.parts) cuttings.push_back(part.across);
    const auto parts = readParts(view, reading.roots, first_size, cuttings, settings);
    for (size_t i = 0; i < parts.size(); ++i) {
        PartFigures part{measuresOf(parts[i].figures, view.panel.in_mm, reading.photos_read, seen.state),
                         tub.parts[i].place,
                         {},
                         {}};
        if (view.panel.in_mm) {
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
