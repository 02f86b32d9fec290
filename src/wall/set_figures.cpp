#include "slipglass/wall/set_figures.h"

#include "slipglass/coverage_interval.h"

namespace slipglass {

namespace {

RootMeasures measuresOf(const RootFigures& figures, const Panel& panel, int photos_read, State state)
{
    RootMeasures measures;
    measures.coverage_percent = figures.coverage_percent;
    measures.browned_percent = figures.browned_percent;
    if (figures.coverage_percent) {
        const CoverageInterval interval = coverageInterval(*figures.coverage_percent, photos_read, state);
        measures.coverage_low = interval.low;
        measures.coverage_high = interval.high;
    }
    measures.root_length_mm = panel.mm(figures.length);
    measures.root_width_mm = panel.mm(figures.width);
    measures.deepest_root_mm = panel.mm(figures.deepest);
    return measures;
}

}  // namespace

void setRoots(Observation& seen, const Panel& panel, const RootMap& roots, int photos_read)
{
    static_cast<RootMeasures&>(seen) = measuresOf(rootFigures(panel, roots), panel, photos_read, seen.state);
    seen.photos_read = photos_read;
}

void setParts(Observation& seen, const WallView& view, const WallReading& reading, cv::Size reference_size,
              const TubParts& tub, const PartSettings& settings)
{
    const Panel& panel = view.panel;
    seen.parts.clear();
    std::vector<AcrossWall> cuttings;
    for (const auto& part : tub.parts) cuttings.push_back(part.across);
    const auto parts = readParts(view, reading.roots, reference_size, cuttings, settings);
    for (size_t i = 0; i < parts.size(); ++i) {
        PartFigures part{measuresOf(parts[i].figures, panel, reading.photos_read, seen.state),
                         tub.parts[i].place, panel.mm(parts[i].shared), panel.mm(parts[i].meets_next)};
        seen.parts.push_back(part);
    }
}

void setReading(Observation& seen, const WallView& view, const WallReading& reading)
{
    setRoots(seen, view.panel, reading.roots, reading.photos_read);
    seen.gained_root_mm = view.panel.mm(reading.gained);
    seen.hidden_root_mm = view.panel.mm(reading.hidden);
    seen.lost_root_mm = view.panel.mm(reading.lost);
}

}  // namespace slipglass
