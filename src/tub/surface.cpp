#include "surface.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace slipglass {

Surface findSurface(const TubMap& map, const Pose& pose, double z_low, double z_high)
{
    constexpr double kLine = 6;  // what the surface's edge counts against levels that look like medium or not

    const View view(pose);
    const double degree = CV_PI / 180;
    const double widest = std::min(70 * degree, view.grazingAngle() - 5 * degree);
    const double dz = (z_high - z_low) / 160;
    constexpr int kLevels = 161;
    const int middle = static_cast<int>(widest / (3 * degree));
    const int columns = 2 * middle + 1;

    // gain[c][k]: medium below level k plus no medium above it, along column c.
    std::vector<std::vector<double>> gain(static_cast<size_t>(columns), std::vector<double>(kLevels));
    Surface surface;
    for (int c = 0; c < columns; ++c) {
        const double angle = (c - middle) * 3 * degree;
        surface.angles.push_back(angle);
        std::vector<double> looks(kLevels), line(kLevels);
        for (int k = 0; k < kLevels; ++k) {
            const PicturePoint at = map.placeOf(view.photoFromWall({angle, z_low + k * dz}));
            const int x = cvRound(at.x_px), y = cvRound(at.y_px);
            if (x < 0 || y < 0 || x >= map.medium.cols || y >= map.medium.rows) continue;
            // Paper and ink hide what is behind them.
            looks[static_cast<size_t>(k)] =
                map.medium.at<float>(y, x) + 0.5 * map.cover.at<float>(y, x) - 0.5;
            line[static_cast<size_t>(k)] = map.surface.at<float>(y, x);
        }
        double below = 0, above = 0;
        for (const double v : looks) above -= v;
        for (size_t k = 0; k < kLevels; ++k) {
            below += looks[k];
            above += looks[k];
            gain[static_cast<size_t>(c)][k] = below + above + kLine * line[k];
        }
    }
    // Best path over columns; a step of one level (under 1 mm) costs a little, a jump a lot.
    std::vector<std::vector<int>> from(gain.size(), std::vector<int>(kLevels, 0));
    std::vector<double> best = gain[0];
    for (size_t c = 1; c < gain.size(); ++c) {
        std::vector<double> next(kLevels, -std::numeric_limits<double>::infinity());
        for (int k = 0; k < kLevels; ++k)
            for (int j = std::max(0, k - 6); j <= std::min(kLevels - 1, k + 6); ++j) {
                const double value = best[static_cast<size_t>(j)] - 1.5 * std::abs(k - j);
                if (value > next[static_cast<size_t>(k)]) {
                    next[static_cast<size_t>(k)] = value;
                    from[c][static_cast<size_t>(k)] = j;
                }
            }
        for (size_t k = 0; k < kLevels; ++k) next[k] += gain[c][k];
        best = next;
    }
    auto k = static_cast<int>(std::max_element(best.begin(), best.end()) - best.begin());
    surface.z.assign(gain.size(), 0);
    for (size_t c = gain.size(); c-- > 0;) {
        surface.z[c] = z_low + k * dz;
        k = from[c][static_cast<size_t>(k)];
    }
    return surface;
}

}  // namespace slipglass
