#include "slipglass/tub/label.h"

#define ZX_USE_UTF8  // Result::text() as UTF-8; the only way in later releases
#include <ZXing/ReadBarcode.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <tuple>

#include "code_grid.h"
#include "finder_patterns.h"

// How a label is found. A QR reader alone misses half the labels on tubs: it takes the code for flat, and a
// wall that bends it by half a module is enough to misread it. So: find the finder patterns, lay a grid over
// them that may bend, align it to what every code shows (finder patterns, timing rows), read the modules from
// the top left corner outwards while aligning to what has been read, and give the library the flat code to
// decode. Its error correction rules out wrong readings. The same alignment makes the corners good to a
// fraction of a pixel.

namespace slipglass {
namespace {

constexpr double kWorkingSide = 1600;  // px; long side of the picture in which finder patterns are looked for
constexpr double kSmallSide = 600;     // px; least long side of the picture they are looked for in first
constexpr double kAligningModule = 6;  // px; larger modules are reduced to it, more tell nothing new
constexpr double kLeastAlike = 0.55;   // correlation of a picture with the code it is said to show. Guess.
constexpr double kWorthAligning = 0.3;  // the same before aligning, which costs a hundred times more. Guess.
constexpr int kMostAttempts = 40;       // alignments a picture and scale; a label takes one to three
constexpr int kSmallestCode = 21, kLargestCode = 57;  // modules: versions 1 to 10 hold any 64-character id

using Corners = std::array<cv::Point2d, 4>;

struct Reading {
    std::string text;
    Corners corners;
    double finder_px = 0;  ///< side of a finder pattern; 0 where the library read it
};

cv::Point2d centreOf(const Corners& c)
{
    return 0.25 * (c[0] + c[1] + c[2] + c[3]);
}

bool holds(const Corners& corners, cv::Point2d point)
{
    const std::vector<cv::Point2f> outline(corners.begin(), corners.end());
    return cv::pointPolygonTest(outline, point, false) >= 0;
}

bool alreadyRead(const std::vector<Reading>& readings, cv::Point2d point)
{
    return std::any_of(readings.begin(), readings.end(),
                       [&](const auto& r) { return holds(r.corners, point); });
}

// ---- decoding, by the library

ZXing::Results decode(const cv::Mat& grey, bool pure)
{
    const auto hints =
        ZXing::DecodeHints()
            .setFormats(ZXing::BarcodeFormat::QRCode)
            .setIsPure(pure)
            .setBinarizer(pure ? ZXing::Binarizer::FixedThreshold : ZXing::Binarizer::LocalAverage);
    return ZXing::ReadBarcodes(
        {grey.data, grey.cols, grey.rows, ZXing::ImageFormat::Lum, static_cast<int>(grey.step)}, hints);
}

/// The text of a code given module by module; empty when it cannot be decoded.
std::string decodeModules(const cv::Mat& dark)
{
    cv::Mat code;
    dark.convertTo(code, CV_8U, -255, 255);
    cv::copyMakeBorder(code, code, 4, 4, 4, 4, cv::BORDER_CONSTANT, cv::Scalar(255));
    cv::resize(code, code, {}, 4, 4, cv::INTER_NEAREST);
    for (const auto& result : decode(code, true))
        if (result.isValid()) return result.text();
    return {};
}

// ---- reading one code

/// The part of a picture round a code, reduced so that a module is not larger than need be.
struct Window {
    cv::Mat grey;        ///< as sharp as it is, for reading
    cv::Mat smooth;      ///< smoothed by a third of a module, for aligning
    cv::Point2d origin;  ///< of the part, px of the picture
    double factor;       ///< px of the part per px of the picture

    cv::Point2d to(cv::Point2d p) const
    {
        const cv::Point2d half(0.5, 0.5);
        return factor * (p - origin + half) - half;
    }
    cv::Point2d from(cv::Point2d p) const
    {
        const cv::Point2d half(0.5, 0.5);
        return (p + half) / factor - half + origin;
    }
};

Window windowRound(const cv::Mat& grey, const std::vector<cv::Point2d>& points, double module_px)
{
    const std::vector<cv::Point2f> places(points.begin(), points.end());
    cv::Rect box = cv::boundingRect(places);
    const int margin = static_cast<int>(0.35 * std::max(box.width, box.height)) + 4;
    box = cv::Rect(box.x - margin, box.y - margin, box.width + 2 * margin, box.height + 2 * margin) &
          cv::Rect({}, grey.size());
    Window window{grey(box).clone(), {}, box.tl(), std::min(1.0, kAligningModule / module_px)};
    if (window.factor < 1)
        cv::resize(window.grey, window.grey, {}, window.factor, window.factor, cv::INTER_AREA);
    cv::GaussianBlur(window.grey, window.smooth, {}, std::max(0.6, 0.33 * module_px * window.factor));
    cv::GaussianBlur(window.grey, window.grey, {}, 0.6);
    return window;
}

/// Modules read so far, as far from the top left corner as the grid can be trusted.
cv::Mat knownUpTo(const cv::Mat& read, double reach)
{
    cv::Mat known = knownModules(read.rows);
    for (int row = 0; row < read.rows; ++row)
        for (int col = 0; col < read.cols; ++col) {
            float& module = known.at<float>(row, col);
            if (std::isnan(module) && row + col < reach * read.rows) module = read.at<float>(row, col);
        }
    return known;
}

/// What is read with a grid as it lies.
struct Read {
    cv::Mat dark;      ///< module by module
    std::string text;  ///< empty when it cannot be decoded
};

Read readAsItLies(const CodeGrid& grid, const Window& window)
{
    // Finder patterns as they must be: the library ends the program over one whose middle is light.
    const cv::Mat dark = knownUpTo(grid.readModules(window.grey), 2);
    return {dark, decodeModules(dark)};
}

/// Corners by aligning the grid to all that was read.
Reading placed(CodeGrid& grid, const Window& window, const Read& read)
{
    grid.align(window.smooth, read.dark);
    Reading reading{read.text, grid.corners()};
    for (auto& corner : reading.corners) corner = window.from(corner);
    reading.finder_px = 7 * cv::norm(reading.corners[1] - reading.corners[0]) / grid.modules();
    return reading;
}

/// How like the code the picture is once the grid is aligned.
double aligned(CodeGrid& grid, const Window& window, const cv::Mat& dark)
{
    grid.align(window.smooth, dark);
    return grid.likeness(window.smooth, dark);
}

/// Aligns a grid that lies roughly over a code and reads it.
std::optional<Reading> readGrid(CodeGrid grid, const Window& window)
{
    const cv::Mat known = knownModules(grid.modules());
    if (grid.likeness(window.smooth, known) < kWorthAligning) return std::nullopt;
    if (aligned(grid, window, known) < kLeastAlike) return std::nullopt;
    // Most codes can be read at once.
    if (const Read read = readAsItLies(grid, window); !read.text.empty()) return placed(grid, window, read);
    for (const double reach : {0.8, 1.2, 1.6, 2.0}) {
        const cv::Mat read = knownUpTo(grid.readModules(window.grey), reach);
        if (aligned(grid, window, read) < kLeastAlike) return std::nullopt;
    }
    for (int attempt = 0; attempt < 2; ++attempt) {
        const Read read = readAsItLies(grid, window);
        const Reading reading = placed(grid, window, read);
        if (!read.text.empty()) return reading;
    }
    return std::nullopt;
}

/// The sizes a code may have, nearest the estimate first.
std::vector<int> likelySizes(double modules)
{
    std::vector<int> sizes;
    for (int size = kSmallestCode; size <= kLargestCode; size += 4)
        if (std::abs(size - modules) < 4) sizes.push_back(size);
    std::stable_sort(sizes.begin(), sizes.end(),
                     [&](int a, int b) { return std::abs(a - modules) < std::abs(b - modules); });
    return sizes;
}

std::vector<CodeGrid::Tie> tiesOf(const CodeCandidate& c, int modules, const Window& window)
{
    const cv::Point2d right = c.top_right.centre - c.top_left.centre;
    const cv::Point2d down = c.bottom_left.centre - c.top_left.centre;
    const double far = modules - 7;
    std::vector<CodeGrid::Tie> ties;
    const auto add = [&](const FinderPattern& finder, cv::Point2d at) {
        const Corners corners = cornersAlong(finder, right, down);
        const std::array<cv::Point2d, 4> square = {{{0, 0}, {7, 0}, {7, 7}, {0, 7}}};
        for (std::size_t k = 0; k < 4; ++k) ties.push_back({at + square[k], window.to(corners[k])});
    };
    add(c.top_left, {0, 0});
    add(c.top_right, {far, 0});
    add(c.bottom_left, {0, far});
    return ties;
}

std::optional<Reading> readCandidate(const CodeCandidate& c, const cv::Mat& grey)
{
    const cv::Point2d far_corner = c.top_right.centre + c.bottom_left.centre - c.top_left.centre;
    const Window window = windowRound(
        grey, {c.top_left.centre, c.top_right.centre, c.bottom_left.centre, far_corner}, c.top_left.side / 7);
    for (const int size : likelySizes(c.modules))
        if (auto reading = readGrid(CodeGrid(size, tiesOf(c, size, window)), window)) return reading;
    return std::nullopt;
}

// ---- the whole picture

FinderPattern enlarged(FinderPattern finder, double factor)
{
    const auto place = [&](cv::Point2d p) {
        return (p + cv::Point2d(0.5, 0.5)) * factor - cv::Point2d(0.5, 0.5);
    };
    finder.centre = place(finder.centre);
    for (auto& corner : finder.corners) corner = place(corner);
    finder.side *= factor;
    return finder;
}

int interpolationFor(double scale)
{
    if (scale > 1) return cv::INTER_CUBIC;
    return scale > 0.6 ? cv::INTER_LINEAR : cv::INTER_AREA;
}

/// Reads what finder patterns at one scale lead to; adds to `readings`.
/// @param small_only  larger ones are known from half that scale, or looked for later.
void readByFinderPatterns(const cv::Mat& grey, double scale, bool small_only, std::vector<Reading>& readings)
{
    cv::Mat scaled = grey;
    if (scale != 1) cv::resize(grey, scaled, {}, scale, scale, interpolationFor(scale));
    std::vector<FinderPattern> finders;
    for (const auto& finder : findFinderPatterns(scaled, small_only))
        finders.push_back(enlarged(finder, 1 / scale));
    int attempts = 0;
    for (const auto& candidate : groupFinderPatterns(finders)) {
        const std::array places = {candidate.top_left.centre, candidate.top_right.centre,
                                   candidate.bottom_left.centre};
        if (std::any_of(places.begin(), places.end(), [&](auto p) { return alreadyRead(readings, p); }))
            continue;
        if (++attempts > kMostAttempts) return;
        if (auto reading = readCandidate(candidate, grey)) readings.push_back(*reading);
    }
}

/// Corners by aligning a grid of whichever size gives back the text the library read there.
Reading placedByGrid(const Reading& rough, const cv::Mat& grey)
{
    const double side =
        std::sqrt(cv::contourArea(std::vector<cv::Point2f>(rough.corners.begin(), rough.corners.end())));
    for (int size = kSmallestCode; size <= kLargestCode; size += 4) {
        const Window window = windowRound(grey, {rough.corners.begin(), rough.corners.end()}, side / size);
        const double n = size;
        const std::array<cv::Point2d, 4> square = {{{0, 0}, {n, 0}, {n, n}, {0, n}}};
        std::vector<CodeGrid::Tie> ties;
        for (std::size_t k = 0; k < 4; ++k) ties.push_back({square[k], window.to(rough.corners[k])});
        const auto reading = readGrid(CodeGrid(size, ties), window);
        if (reading && reading->text == rough.text) return *reading;
    }
    return rough;
}

/// Reads with the library alone, for codes whose finder patterns are too damaged to be traced.
void readByLibrary(const cv::Mat& grey, double scale, std::vector<Reading>& readings)
{
    cv::Mat scaled = grey;
    if (scale != 1) cv::resize(grey, scaled, {}, scale, scale, interpolationFor(scale));
    for (const auto& result : decode(scaled, false)) {
        if (!result.isValid() || result.isMirrored()) continue;
        Reading rough{result.text(), {}};
        for (int k = 0; k < 4; ++k)
            rough.corners[k] =
                (cv::Point2d(result.position()[k].x, result.position()[k].y) + cv::Point2d(0.5, 0.5)) /
                    scale -
                cv::Point2d(0.5, 0.5);
        if (!alreadyRead(readings, centreOf(rough.corners))) readings.push_back(placedByGrid(rough, grey));
    }
}

/// Whether each of these tubs' labels is among the readings; not where none is named.
bool holdAll(const std::vector<Reading>& readings, const std::vector<std::string>& tubs)
{
    const auto isRead = [&](const std::string& tub) {
        return std::any_of(readings.begin(), readings.end(), [&](const Reading& r) {
            const auto payload = parseLabelText(r.text);
            return payload && payload->tub == tub;
        });
    };
    return !tubs.empty() && std::all_of(tubs.begin(), tubs.end(), isRead);
}

std::vector<Reading> readCodes(const cv::Mat& grey, bool small_too, const std::vector<std::string>& tubs)
{
    const int long_side = std::max(grey.cols, grey.rows);
    const double working = std::min(1.0, kWorkingSide / long_side);
    std::vector<Reading> readings;
    // Twice the size costs four times as much, and most labels can be read in a small picture already.
    double small = 1;
    while (small * long_side >= 2 * kSmallSide) small /= 2;
    for (; !tubs.empty() && small < working; small *= 2) {
        readByFinderPatterns(grey, small, true, readings);
        if (holdAll(readings, tubs)) return readings;
    }
    readByFinderPatterns(grey, working, false, readings);
    if (holdAll(readings, tubs)) return readings;
    // Labels of a photo are about as large as each other: where all that were found would have been at half
    // their size too, no smaller one is looked for.
    const bool large =
        !readings.empty() && std::all_of(readings.begin(), readings.end(), [&](const Reading& r) {
            return working * r.finder_px >= 2 * kSmallestFinder;
        });
    if (small_too && !large) readByFinderPatterns(grey, 2 * working, true, readings);
    readByLibrary(grey, working, readings);
    return readings;
}

}  // namespace

std::vector<FoundLabel> findLabels(const cv::Mat& bgr, const LabelSettings& settings, bool small_too,
                                   const std::vector<std::string>& tubs)
{
    CV_Assert(bgr.type() == CV_8UC3);
    // Too thin for a code, or to be reduced to the working size.
    if (std::min(bgr.cols, bgr.rows) < kSmallestCode) return {};
    cv::Mat grey;
    cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
    std::vector<FoundLabel> labels;
    for (const Reading& reading : readCodes(grey, small_too, tubs)) {
        const auto payload = parseLabelText(reading.text);
        if (!payload) continue;
        labels.push_back({payload->tub, payload->qr_side_mm.value_or(settings.qr_side_mm), reading.corners});
    }
    std::sort(labels.begin(), labels.end(), [](const FoundLabel& a, const FoundLabel& b) {
        return std::tie(a.tub, a.corners[0].y, a.corners[0].x) <
               std::tie(b.tub, b.corners[0].y, b.corners[0].x);
    });
    return labels;
}

}  // namespace slipglass
