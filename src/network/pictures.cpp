#include "pictures.h"

#include <algorithm>
#include <cstring>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>

namespace slipglass {

namespace {

/// Copies pieces of a size known beforehand, which is several times as fast.
template <size_t size>
void copyPieces(const uchar* from, size_t from_step, uchar* to, size_t to_step, int count)
{
    for (int i = 0; i < count; ++i, from += from_step, to += to_step) std::memcpy(to, from, size);
}

/// Copies `count` pieces of `size` bytes from every `from_step` to every `to_step` bytes.
void copyPieces(size_t size, const uchar* from, size_t from_step, uchar* to, size_t to_step, int count)
{
    switch (size) {
        case 8:
            return copyPieces<8>(from, from_step, to, to_step, count);
        case 16:
            return copyPieces<16>(from, from_step, to, to_step, count);
        case 24:
            return copyPieces<24>(from, from_step, to, to_step, count);
        case 32:
            return copyPieces<32>(from, from_step, to, to_step, count);
        default:
            for (int i = 0; i < count; ++i, from += from_step, to += to_step) std::memcpy(to, from, size);
    }
}

/// The pixels of a value into those of a larger picture, from a channel on.
/// @param before  bytes of the channels before.
void place(const Laid& value, cv::Mat& made, size_t before)
{
    const auto steps = static_cast<size_t>(value.steps);
    const size_t size = value.held.elemSize() / (steps * steps), to = made.elemSize();
    for (int y = 0; y < made.rows; ++y) {
        const uchar* row =
            value.held.ptr(y / value.steps) + static_cast<size_t>(y % value.steps) * steps * size;
        for (size_t k = 0; k < steps; ++k)
            copyPieces(size, row + k * size, value.held.elemSize(), made.ptr(y) + before + k * to, steps * to,
                       value.held.cols);
    }
}

/// While a row is near at hand; a sum that a byte cannot hold is the most that it can.
void addRow(const uchar* also, uchar* to, size_t count)
{
    size_t i = 0;
    for (; i + 16 <= count; i += 16) cv::v_store(to + i, cv::v_load(to + i) + cv::v_load(also + i));
    for (; i < count; ++i) to[i] = static_cast<uchar>(std::min(255, to[i] + also[i]));
}

/// Each pixel nine parts of the nearest, three of the next across and down, one of that between, rounded.
/// cv::resize takes four times as long for many channels of bytes.
cv::Mat doubledBytes(const cv::Mat& value, const cv::Mat& plus)
{
    const int channels = value.channels();
    const auto row = static_cast<size_t>(value.cols) * static_cast<size_t>(channels);
    cv::Mat made(value.rows * 2, value.cols * 2, value.type());
    std::vector<ushort> mixed(row + 2 * static_cast<size_t>(channels));  // one pixel more at both ends
    ushort* const down = mixed.data() + channels;
    for (int y = 0; y < made.rows; ++y) {
        const uchar *near = value.ptr(y / 2),
                    *next = value.ptr(std::clamp(y / 2 + (y % 2 ? 1 : -1), 0, value.rows - 1));
        for (size_t i = 0; i < row; ++i) down[i] = static_cast<ushort>(3 * near[i] + next[i]);
        std::copy_n(down, channels, down - channels);
        std::copy_n(down + row - channels, channels, down + row);
        uchar* to = made.ptr(y);
        for (const ushort* at = down; at < down + row; at += channels, to += 2 * channels) {
            for (int c = 0; c < channels; ++c)
                to[c] = static_cast<uchar>((3 * at[c] + at[c - channels] + 8) >> 4);
            for (int c = 0; c < channels; ++c)
                to[channels + c] = static_cast<uchar>((3 * at[c] + at[c + channels] + 8) >> 4);
        }
        if (!plus.empty()) addRow(plus.ptr(y), made.ptr(y), 2 * row);
    }
    return made;
}

}  // namespace

cv::Mat Laid::pixels() const
{
    const int under = steps * steps;
    return under == 1 ? held : held.reshape(held.channels() / under, {held.rows, held.cols * under});
}

cv::Mat Laid::picture() const
{
    if (steps == 1) return held;
    cv::Mat made(size(), CV_MAKETYPE(held.depth(), channels()));
    place(*this, made, 0);
    return made;
}

Laid Laid::with(const cv::Mat& made) const
{
    return {made.reshape(made.channels() * steps * steps, {held.rows, held.cols}), steps};
}

cv::Mat sigmoid(const cv::Mat& value)
{
    cv::Mat made(value.size(), value.type());
    const int count = value.cols * value.channels();
    for (int y = 0; y < made.rows; ++y) {  // a row stays near at hand
        const auto* from = value.ptr<float>(y);
        auto* to = made.ptr<float>(y);
        for (int x = 0; x < count; ++x) to[x] = -from[x];
        cv::Mat row(1, count, CV_32F, to);
        cv::exp(row, row);
        for (int x = 0; x < count; ++x) to[x] = 1 / (1 + to[x]);
    }
    return made;
}

cv::Mat relu(const cv::Mat& value)
{
    cv::Mat made;
    cv::max(value.reshape(1), 0.0, made);
    return made.reshape(value.channels());
}

cv::Mat doubled(const cv::Mat& value, const cv::Mat& plus)
{
    if (value.depth() == CV_8U) return doubledBytes(value, plus);
    cv::Mat made;
    cv::resize(value, made, {}, 2, 2, cv::INTER_LINEAR);
    return plus.empty() ? made : made + plus;
}

cv::Mat rowMean(const cv::Mat& value, int places)
{
    cv::Mat made;
    cv::boxFilter(value, made, -1, {places, 1}, {-1, -1}, true, cv::BORDER_CONSTANT);
    return made;
}

cv::Mat joined(const std::vector<Laid>& values)
{
    int channels = 0;
    for (const Laid& value : values) channels += value.channels();
    cv::Mat made(values[0].size(), CV_MAKETYPE(values[0].held.depth(), channels));
    size_t before = 0;
    for (const Laid& value : values) {
        place(value, made, before);
        before += static_cast<size_t>(value.channels()) * value.held.elemSize1();
    }
    return made;
}

}  // namespace slipglass
