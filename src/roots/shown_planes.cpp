#include "shown_planes.h"

#include <algorithm>
#include <array>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/network/network.h"

namespace slipglass {

namespace {

constexpr int kColours = 6;                // of today and of the past
constexpr int kPlanes = 2 * kColours + 1;  // as they are, evened, and the past's visibility
/// Of a colour less its light, over that light: half of it was learnt from, and planes hold the half of that.
constexpr float kEvened = 0.25F;
constexpr float kWhite = 255;
constexpr int kBlock = 32;  // px: 3 x 3 blocks are looked at around each

/// The light around a block: the mean of each colour where it is visible, how bright today and the past are,
/// and how much of the past is visible.
struct Light {
    std::array<float, kColours> mean{};
    std::array<float, 2> luma{};
    float has_past = 0;
};
constexpr int kLights = sizeof(Light) / sizeof(float);

/// Of each block, sums of the colours and counts of what is visible.
struct Block {
    std::array<int, kColours> sum{}, visible{};
};

std::vector<Block> blocksOf(const cv::Mat& pair)
{
    const int across = pair.cols / kBlock;
    std::vector<Block> blocks(static_cast<size_t>(across) * static_cast<size_t>(pair.rows / kBlock));
    for (int y = 0; y < pair.rows; ++y) {
        const uchar* at = pair.ptr(y);
        Block* row = &blocks[static_cast<size_t>(y / kBlock) * static_cast<size_t>(across)];
        for (int x = 0; x < pair.cols; ++x, at += kColours) {
            Block& block = row[x / kBlock];
            for (size_t c = 0; c < kColours; ++c) {
                block.sum[c] += at[c];
                block.visible[c] += at[c] > 0;
            }
        }
    }
    return blocks;
}

Light lightOf(const Block& around)
{
    constexpr std::array<float, 3> kLuma = {0.114F, 0.587F, 0.299F};  // B, G, R; ITU-R BT.601
    constexpr float kAll = 9.0F * kBlock * kBlock;                    // beyond the ends nothing is visible
    Light light;
    for (size_t c = 0; c < kColours; ++c) {
        const float visible = static_cast<float>(around.visible[c]) / kAll;
        light.mean[c] = static_cast<float>(around.sum[c]) / kWhite / kAll / (visible + 0.001F);
        light.luma[c / 3] += kLuma[c % 3] * light.mean[c];
        if (c >= 3) light.has_past += visible / 3;
    }
    return light;
}

/// A row of lights for each block.
cv::Mat lightsOf(const std::vector<Block>& blocks, cv::Size count)
{
    cv::Mat lights(count, CV_32FC(kLights));
    for (int y = 0; y < count.height; ++y) {
        for (int x = 0; x < count.width; ++x) {
            Block around;
            for (int v = std::max(0, y - 1); v <= std::min(count.height - 1, y + 1); ++v) {
                for (int u = std::max(0, x - 1); u <= std::min(count.width - 1, x + 1); ++u) {
                    const Block& one = blocks[static_cast<size_t>(v) * static_cast<size_t>(count.width) +
                                              static_cast<size_t>(u)];
                    for (size_t c = 0; c < kColours; ++c) {
                        around.sum[c] += one.sum[c];
                        around.visible[c] += one.visible[c];
                    }
                }
            }
            *reinterpret_cast<Light*>(lights.ptr<float>(y, x)) = lightOf(around);
        }
    }
    return lights;
}

/// Between which two blocks a pixel lies, and how near the second.
struct Between {
    int first, second;
    float share;
};

Between between(int px, int blocks)
{
    const float at =
        std::clamp((static_cast<float>(px) + 0.5F) / kBlock - 0.5F, 0.0F, static_cast<float>(blocks - 1));
    const int first = static_cast<int>(at);
    return {first, std::min(first + 1, blocks - 1), at - static_cast<float>(first)};
}

/// @return  in steps of kPlaneStep; beyond what these hold, the largest.
schar inSteps(float value)
{
    return static_cast<schar>(cvRound(std::clamp(value / kPlaneStep, -127.0F, 127.0F)));
}

/// Each colour as a plane shows it.
std::array<schar, 256> coloursInSteps()
{
    std::array<schar, 256> steps;
    for (size_t i = 0; i < steps.size(); ++i) steps[i] = inSteps(static_cast<float>(i) / kWhite);
    return steps;
}

void fill(cv::Mat& planes, const cv::Mat& pair, const cv::Mat& lights)
{
    const std::array<schar, 256> colour = coloursInSteps();
    std::vector<Between> columns;
    for (int x = 0; x < pair.cols; ++x) columns.push_back(between(x, lights.cols));
    std::vector<float> row(static_cast<size_t>(lights.cols) * kLights);
    for (int y = 0; y < pair.rows; ++y) {
        const Between rows = between(y, lights.rows);
        const float *above = lights.ptr<float>(rows.first), *below = lights.ptr<float>(rows.second);
        for (size_t i = 0; i < row.size(); ++i) row[i] = above[i] + rows.share * (below[i] - above[i]);
        const uchar* from = pair.ptr(y);
        auto* to = planes.ptr<schar>(y);
        for (int x = 0; x < pair.cols; ++x, from += kColours, to += kPlanes) {
            const Between& column = columns[static_cast<size_t>(x)];
            const float *left = &row[static_cast<size_t>(column.first) * kLights],
                        *right = &row[static_cast<size_t>(column.second) * kLights];
            std::array<float, kLights> here;
            for (size_t i = 0; i < kLights; ++i) here[i] = left[i] + column.share * (right[i] - left[i]);
            const std::array<float, 2> gain = {kEvened / (here[kColours] + 0.04F),
                                               kEvened / (here[kColours + 1] + 0.04F)};
            for (size_t c = 0; c < kColours; ++c) {
                to[c] = colour[from[c]];
                to[kColours + c] = from[c] ? inSteps((from[c] / kWhite - here[c]) * gain[c / 3]) : schar{0};
            }
            to[2 * kColours] = inSteps(here[kColours + 2]);
        }
    }
}

/// Three colours from channel `first` on; 0 where not shown.
void setColours(cv::Mat& pair, int first, const cv::Mat& bgr, const cv::Mat& shown)
{
    for (int y = 0; y < bgr.rows; ++y) {
        const auto* from = bgr.ptr<cv::Vec3b>(y);
        const uchar* seen = shown.empty() ? nullptr : shown.ptr<uchar>(y);
        uchar* to = pair.ptr(y) + first;
        for (int x = 0; x < bgr.cols; ++x, to += kColours) {
            if (seen && !seen[x]) continue;
            for (int c = 0; c < 3; ++c) to[c] = from[x][c];
        }
    }
}

}  // namespace

cv::Mat shownPlanes(const Panel& panel, const std::optional<EarlierPanel>& past)
{
    cv::Mat planes = inputPlanes(panel.bgr.size(), kPlanes, CV_8S);
    cv::Mat pair = cv::Mat::zeros(planes.size(), CV_8UC(kColours));
    setColours(pair, 0, panel.bgr, {});
    if (past) setColours(pair, 3, past->bgr, past->visible);
    fill(planes, pair, lightsOf(blocksOf(pair), planes.size() / kBlock));
    return planes;
}

}  // namespace slipglass
