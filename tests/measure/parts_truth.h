#pragma once
// How well parts of a wall are measured on the sample season: each tub's wall as if two or three cuttings
// shared it, against the truth of the same parts.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "../support/samples.h"
#include "slipglass/measure.h"
#include "slipglass/report/writers.h"
#include "slipglass/store/season_store.h"
#include "slipglass/wall/parts.h"
#include "slipglass/wall/view_facts.h"
#include "slipglass/wall/wall_history.h"

namespace slipglass::test {

struct PartsScore {
    int parts = 0, rootless = 0;
    int above_limit = 0;                              ///< rootless ones on which roots count as seen
    double error_median = 0, error_ninth_decile = 0;  ///< of coverage, percentage points
    double interval_hit_share = 0;
};

/// The plan of the samples with `places` in each tub.
inline std::string sharedPlan(const std::vector<std::string>& places)
{
    std::string plan = csvRecord({"cutting", "tub", "position", "tub_type"});
    for (const std::string tub : {"T01", "T02", "T03", "T04", "T05", "T06"})
        for (const std::string& place : places)
            plan += csvRecord({tub + place, tub, place, tub == "T05" ? "gallon" : "quart"});
    return plan;
}

/// Coverage of the truth on each part, percent of the part's frontal wall.
inline std::vector<double> truthOnParts(const WallView& view, const std::string& stem, const cv::Mat& parts,
                                        int count)
{
    const Panel& panel = view.panel;
    const cv::Mat truth =
        cv::imread((kSamples / "truth" / (stem + ".roots.png")).string(), cv::IMREAD_GRAYSCALE);
    std::vector<double> root(static_cast<size_t>(count)), wall(root);
    for (int row = 0; row < parts.rows; ++row)
        for (int column = 0; column < parts.cols; ++column) {
            if (!panel.frontal.at<uchar>(row, column)) continue;
            const PhotoPoint p = photoFromPanel(panel, panel.pointAt(column, row));
            const cv::Point at(cvRound(p.x_px), cvRound(p.y_px));
            const auto part = static_cast<size_t>(parts.at<uchar>(row, column) - 1);
            wall[part] += 1;
            if (cv::Rect({}, truth.size()).contains(at) && truth.at<uchar>(at)) root[part] += 1;
        }
    for (size_t i = 0; i < root.size(); ++i) root[i] *= 100 / std::max(1.0, wall[i]);
    return root;
}

/// Measures nothing: `measured` holds the season already, and another plan only has its walls read again.
inline PartsScore scoreParts(MeasureOptions measured, const std::vector<std::string>& places,
                             const std::vector<AcrossWall>& across)
{
    const auto plan = measured.out / "shared-plan.csv";
    std::ofstream(plan) << sharedPlan(places);
    measured.batch = plan;
    const MeasureResult result = measure(measured, {});
    if (result.measured != 0) throw std::logic_error("another position had photos measured again");
    const SeasonStore store(measured.out / "season.db", SeasonStore::Use::read);
    std::vector<double> errors;
    PartsScore score;
    int hits = 0;
    for (const std::string& tub : store.tubs()) {
        std::optional<cv::Size> reference_size;
        std::string first_side;
        for (const KeptView& kept : store.views(tub)) {
            const auto facts = factsOf(kept);
            const auto view =
                facts ? decodeWallView({store.viewPicture(kept.photo, tub), facts->view_meta}) : std::nullopt;
            if (!view) continue;
            if (!reference_size) {
                reference_size = view->panel.frontal.size();  // the earliest photo's own panel
                first_side = kept.side;
            }
            if (kept.side != first_side) continue;
            const cv::Mat parts = partsOfWall(*view, *reference_size, across);
            const auto truth = truthOnParts(*view, std::filesystem::path(kept.photo).stem().string(), parts,
                                            static_cast<int>(places.size()));
            const Observation seen = *store.find(kept.photo, tub);
            for (size_t i = 0; i < seen.parts.size(); ++i) {
                const PartFigures& part = seen.parts[i];
                if (!part.coverage_percent) continue;
                ++score.parts;
                errors.push_back(std::abs(*part.coverage_percent - truth[i]));
                hits += *part.coverage_low <= truth[i] && truth[i] <= *part.coverage_high ? 1 : 0;
                if (truth[i] > 0) continue;
                ++score.rootless;
                score.above_limit +=
                    *part.coverage_percent > SeasonSettings{}.detection_limit_percent ? 1 : 0;
            }
        }
    }
    std::sort(errors.begin(), errors.end());
    score.error_median = errors.at(errors.size() / 2);
    score.error_ninth_decile = errors.at(errors.size() * 9 / 10);
    score.interval_hit_share = hits / static_cast<double>(score.parts);
    return score;
}

}  // namespace slipglass::test
