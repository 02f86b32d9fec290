#include "shown_planes.h"

#include <algorithm>
#include <array>
#include <opencv2/core/hal/intrin.hpp>
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
constexpr float kSteps = 1 / kPlaneStep;
constexpr size_t kLanes = 16;  // bytes worked on at once; columns are a multiple of it
constexpr int kBlock = 32;     // px: 3 x 3 blocks are looked at around each

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

/// Today's three colours and the past's, CV_8UC1, each as large as the planes; 0 where nothing is shown.
using Colours = std::array<cv::Mat, kColours>;

std::vector<Block> blocksOf(const Colours& colours)
{
    const cv::Size size = colours[0].size() / kBlock;
    std::vector<Block> blocks(static_cast<size_t>(size.area()));
    for (size_t c = 0; c < kColours; ++c) {
        for (int y = 0; y < colours[c].rows; ++y) {
            const uchar* at = colours[c].ptr(y);
            Block* row = &blocks[static_cast<size_t>(y / kBlock) * static_cast<size_t>(size.width)];
            for (int x = 0; x < size.width; ++x, at += kBlock) {
                int sum = 0, visible = 0;
                for (int i = 0; i < kBlock; ++i) {
                    sum += at[i];
                    visible += at[i] > 0;
                }
                row[x].sum[c] += sum;
                row[x].visible[c] += visible;
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

using FourFloats = std::array<cv::v_float32x4, 4>;

/// Sixteen values as numbers.
FourFloats numbersOf(const cv::v_uint8x16& bytes)
{
    std::array<cv::v_uint16x8, 2> halves;
    std::array<cv::v_uint32x4, 4> quarters;
    cv::v_expand(bytes, halves[0], halves[1]);
    cv::v_expand(halves[0], quarters[0], quarters[1]);
    cv::v_expand(halves[1], quarters[2], quarters[3]);
    FourFloats numbers;
    for (size_t i = 0; i < 4; ++i) numbers[i] = cv::v_cvt_f32(cv::v_reinterpret_as_s32(quarters[i]));
    return numbers;
}

/// Counts of steps of kPlaneStep, rounded, as signed bytes; beyond what these hold, the largest.
cv::v_uint8x16 inSteps(const FourFloats& steps)
{
    const cv::v_int8x16 whole = cv::v_pack(cv::v_pack(cv::v_round(steps[0]), cv::v_round(steps[1])),
                                           cv::v_pack(cv::v_round(steps[2]), cv::v_round(steps[3])));
    return cv::v_reinterpret_as_u8(cv::v_max(whole, cv::v_setall_s8(-127)));
}

/// The lights of one row of pixels, each by itself.
class LightOfRow {
public:
    explicit LightOfRow(const cv::Mat& lights, int columns)
        : lights_(lights), blocks_(static_cast<size_t>(lights.cols) * kLights)
    {
        for (int x = 0; x < columns; ++x) {
            const Between here = between(x, lights.cols);
            if (stretches_.empty() || stretches_.back().first != here.first)
                stretches_.push_back({here.first, here.second, static_cast<size_t>(x), 0});
            ++stretches_.back().columns;
            share_.push_back(here.share);
        }
        for (std::vector<float>& light : of_) light.resize(static_cast<size_t>(columns));
    }

    void moveTo(int y)
    {
        const Between rows = between(y, lights_.rows);
        const float *above = lights_.ptr<float>(rows.first), *below = lights_.ptr<float>(rows.second);
        for (size_t i = 0; i < blocks_.size(); ++i)
            blocks_[i] = above[i] + rows.share * (below[i] - above[i]);
        for (const Stretch& stretch : stretches_) {
            const float* share = &share_[stretch.from];
            for (size_t i = 0; i < kLights; ++i) {
                const float left = blocks_[static_cast<size_t>(stretch.first) * kLights + i],
                            step = blocks_[static_cast<size_t>(stretch.second) * kLights + i] - left;
                float* light = &of_[i][stretch.from];
                for (size_t k = 0; k < stretch.columns; ++k) light[k] = left + share[k] * step;
            }
        }
    }

    const float* operator[](size_t light) const { return of_[light].data(); }

private:
    /// Columns that lie between the same two blocks.
    struct Stretch {
        int first, second;
        size_t from, columns;
    };

    const cv::Mat& lights_;
    std::vector<float> blocks_;
    std::vector<Stretch> stretches_;
    std::vector<float> share_;  ///< how near its second block each column is
    std::array<std::vector<float>, kLights> of_;
};

/// The planes of a row of pixels, with a pixel of zeros at either end.
using Row = std::array<std::vector<uchar>, kPlanes>;
constexpr size_t kBefore = 1;

/// Sixteen pixels from a column on, each with sixteen planes, of which the last are empty.
std::array<cv::v_uint8x16, 16> pixelsOf(const Row& row, size_t column)
{
    std::array<cv::v_uint8x16, 16> lanes;
    for (size_t p = 0; p < lanes.size(); ++p)
        lanes[p] = p < kPlanes ? cv::v_load(row[p].data() + column) : cv::v_setzero_u8();
    for (int shuffled = 0; shuffled < 4; ++shuffled) {  // four times from both halves in turn: turned round
        std::array<cv::v_uint8x16, 16> next;
        for (size_t i = 0; i < 8; ++i) cv::v_zip(lanes[i], lanes[i + 8], next[2 * i], next[2 * i + 1]);
        lanes = next;
    }
    return lanes;
}

/// Lays two rows by fours, see Network::run.
void layByFours(const Row& above, const Row& below, uchar* to)
{
    const size_t columns = above[0].size();
    size_t x = 0;
    // What is written of the empty planes is written over by the next pixel's: the row's last are left.
    for (; x + 16 < columns; x += 16) {
        const std::array<cv::v_uint8x16, 16> first = pixelsOf(above, x), second = pixelsOf(below, x);
        for (size_t i = 0; i < first.size(); i += 2)
            for (const cv::v_uint8x16& pixel : {first[i], first[i + 1], second[i], second[i + 1]}) {
                cv::v_store(to, pixel);
                to += kPlanes;
            }
    }
    for (; x < columns; x += 2)
        for (const Row* row : {&above, &below})
            for (size_t i = x; i < x + 2; ++i)
                for (const std::vector<uchar>& plane : *row) *to++ = plane[i];
}

/// Of eight bytes as counts of 1 / 255 the steps of kPlaneStep, rounded: x 127 / 255, in whole numbers.
cv::v_uint16x8 stepsOf(const cv::v_uint16x8& bytes)
{
    const cv::v_uint16x8 half_up = cv::v_mul_wrap(bytes, cv::v_setall_u16(127)) + cv::v_setall_u16(127);
    return (half_up + cv::v_setall_u16(1) + (half_up >> 8)) >> 8;
}

/// A row of one colour: as it is, and evened out.
/// @param mean, gain  of its light at each pixel.
void fillColour(const uchar* from, const float* mean, const float* gain, size_t columns, uchar* plain,
                uchar* evened)
{
    const cv::v_float32x4 share = cv::v_setall_f32(1 / kWhite);
    for (size_t x = 0; x < columns; x += kLanes) {
        const cv::v_uint8x16 bytes = cv::v_load(from + x);
        cv::v_uint16x8 low, high;
        cv::v_expand(bytes, low, high);
        cv::v_store(plain + x, cv::v_pack(stepsOf(low), stepsOf(high)));
        const FourFloats numbers = numbersOf(bytes);
        FourFloats lit;
        for (size_t i = 0; i < 4; ++i)
            lit[i] = (numbers[i] * share - cv::v_load(mean + x + 4 * i)) * cv::v_load(gain + x + 4 * i);
        cv::v_store(evened + x, inSteps(lit) & (bytes != cv::v_setzero_u8()));
    }
}

/// Fills the planes row by row.
class Filler {
public:
    Filler(const Colours& colours, const cv::Mat& lights)
        : colours_(colours),
          columns_(static_cast<size_t>(colours[0].cols)),
          light_(lights, colours[0].cols),
          gain_{std::vector<float>(columns_), std::vector<float>(columns_)}
    {
    }

    Row empty() const
    {
        Row row;
        row.fill(std::vector<uchar>(columns_ + 2 * kBefore));
        return row;
    }

    /// Row `y` of the picture.
    void fill(int y, Row& row)
    {
        light_.moveTo(y);
        for (size_t when = 0; when < gain_.size(); ++when) {
            const float* luma = light_[kColours + when];
            for (size_t x = 0; x < columns_; ++x) gain_[when][x] = kSteps * kEvened / (luma[x] + 0.04F);
        }
        for (size_t c = 0; c < kColours; ++c)
            fillColour(colours_[c].ptr(y), light_[c], gain_[c / 3].data(), columns_, &row[c][kBefore],
                       &row[kColours + c][kBefore]);
        const float* has_past = light_[kColours + 2];
        for (size_t x = 0; x < columns_; x += kLanes) {
            FourFloats steps;
            for (size_t i = 0; i < 4; ++i)
                steps[i] = cv::v_load(has_past + x + 4 * i) * cv::v_setall_f32(kSteps);
            cv::v_store(&row[2 * kColours][kBefore + x], inSteps(steps));
        }
    }

private:
    const Colours& colours_;
    size_t columns_;
    LightOfRow light_;
    std::array<std::vector<float>, 2> gain_;
};

/// Three colours from `first` on.
void setColours(Colours& colours, size_t first, const cv::Mat& bgr)
{
    std::array<cv::Mat, 3> here;
    for (size_t c = 0; c < 3; ++c) here[c] = colours[first + c](cv::Rect({}, bgr.size()));
    cv::split(bgr, here.data());
}

}  // namespace

cv::Mat shownPlanes(const Panel& panel, const std::optional<EarlierPanel>& past)
{
    const cv::Size size = paddedForNetwork(panel.bgr.size());
    Colours colours;
    for (cv::Mat& colour : colours) colour = cv::Mat::zeros(size, CV_8U);
    setColours(colours, 0, panel.bgr);
    if (past) {
        setColours(colours, 3, past->bgr);
        for (size_t c = 3; c < kColours; ++c) colours[c](cv::Rect({}, past->visible.size())) &= past->visible;
    }
    const cv::Mat lights = lightsOf(blocksOf(colours), size / kBlock);
    Filler filler(colours, lights);
    Row above = filler.empty(), below = filler.empty();
    const Row beyond = filler.empty();
    cv::Mat planes(size / 2 + cv::Size(1, 1), CV_8SC(4 * kPlanes));
    for (int y = 0; y < planes.rows; ++y) {
        const int first = 2 * y - 1, second = 2 * y;
        if (first >= 0) filler.fill(first, above);
        if (second < size.height) filler.fill(second, below);
        layByFours(first >= 0 ? above : beyond, second < size.height ? below : beyond, planes.ptr(y));
    }
    return planes;
}

}  // namespace slipglass
