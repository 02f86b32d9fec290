// How much `teach` helps: the table of docs/measured/teach.md. Every other photo of a tub is corrected by
// strokes drawn from truth where the map was wrong; its other photos are compared with truth. Prints
// Markdown.
#include <cmath>
#include <cstdio>
#include <iostream>
#include <map>
#include <opencv2/imgcodecs.hpp>
#include <set>

#include "../support/purple_lamp.h"
#include "../support/samples.h"
#include "../support/strokes_from_truth.h"
#include "earlier_views.h"
#include "look_at.h"
#include "photos.h"
#include "slipglass/corrections/learn.h"
#include "slipglass/roots/root_layer.h"

namespace slipglass {
namespace {

/// A sample: what a person would teach on it, and the panel pixels it is judged by.
struct Sample {
    Lesson lesson;
    cv::Mat features;  ///< rows, CV_32F, every other panel pixel each way
    cv::Mat truth;     ///< CV_8U, one column: 255 where that pixel shows a root
};

void setTruth(Sample& sample, const Panel& panel, const std::vector<cv::Mat>& planes, const cv::Mat& truth)
{
    for (int r = 0; r < panel.frontal.rows; r += 2)
        for (int c = 0; c < panel.frontal.cols; c += 2) {
            if (!panel.frontal.at<uchar>(r, c)) continue;
            const PhotoPoint at = photoFromPanel(panel, panel.pointAt(c, r));
            const cv::Point px(cvRound(at.x_px), cvRound(at.y_px));
            cv::Mat row(1, static_cast<int>(planes.size()), CV_32F);
            for (size_t k = 0; k < planes.size(); ++k)
                row.at<float>(static_cast<int>(k)) = planes[k].at<float>(r, c);
            sample.features.push_back(row);
            const bool inside = cv::Rect({}, truth.size()).contains(px);
            sample.truth.push_back(static_cast<uchar>(inside ? truth.at<uchar>(px) : 0));
        }
}

std::map<std::string, Sample> samplesIn(const std::filesystem::path& folder, const std::filesystem::path& out,
                                        const MeasureOptions& options)
{
    const Settings settings;
    const std::optional<Plan> plan = readPlan(*options.batch, options.today);
    const SeasonStore store(out / "season.db", SeasonStore::Use::read);
    const KeptPhotos kept(store);
    const auto items =
        readItems(listPhotos(options.photos).files, plan, settings, kept, options, MeasureEvents{});
    const EarlierViews earlier(items, kept, store, std::nullopt, [](const std::string&) { return ""; });
    std::map<std::string, Sample> samples;
    for (const Item& item : items) {
        const auto back = [&](const Look& look, const Picture&) {
            return lookBack(*look.panel, earlier.views(look.seen.tub, item.file.name));
        };
        const Looks looks = looksAt(item, back, {settings, plan});
        if (!looks.looks[0].panel) continue;
        const auto mask = [](const std::filesystem::path& path) {
            return cv::imread(path.string(), cv::IMREAD_GRAYSCALE);
        };
        const std::string stem = item.file.stem;
        const cv::Mat truth = mask(folder / "truth" / (stem + ".roots.png"));
        const Panel& panel = *looks.looks[0].panel;
        const auto planes = rootFeatures(panel, looks.looks[0].before);
        Sample& sample = samples[stem];
        sample.lesson = lessonFrom(panel, planes, shippedRootLayer(),
                                   test::strokesFromTruth(mask(out / "masks" / (stem + ".roots.png")), truth,
                                                          mask(out / "masks" / (stem + ".wall.png"))));
        sample.lesson.photo = stem;
        sample.lesson.tub = item.tubs[0];
        setTruth(sample, panel, planes, truth);
    }
    return samples;
}

/// Dice (1945) with truth over samples, pixels of all together.
double dice(const std::vector<const Sample*>& samples, const RootLayer& layer, double threshold)
{
    double both = 0, sum = 0;
    for (const Sample* sample : samples)
        for (int r = 0; r < sample->truth.rows; ++r) {
            double logit = layer.bias;
            for (size_t k = 0; k < layer.weights.size(); ++k)
                logit += layer.weights[k] * sample->features.at<float>(r, static_cast<int>(k));
            const bool said = 1 / (1 + std::exp(-logit)) > threshold, is = sample->truth.at<uchar>(r) > 0;
            both += said && is;
            sum += said + is;
        }
    return sum > 0 ? 2 * both / sum : 1;
}

/// @param tub   whose photos are corrected; empty = all.
/// @param odd   the second, fourth, ... photo of each tub; else the first, third, ...
/// @param alone the season holds no other tub.
void tryOn(const std::map<std::string, Sample>& samples, const std::string& tub, bool odd, bool alone)
{
    Lessons lessons;
    std::vector<Lesson> elsewhere;
    std::map<std::string, std::vector<const Sample*>> judged;
    std::map<std::string, int> nth;
    size_t strokes = 0;
    for (const auto& [stem, sample] : samples) {
        const std::string& of = sample.lesson.tub;
        const bool corrected = (nth[of]++ % 2 == 1) == odd && (tub.empty() || of == tub);
        if (alone && of != tub) continue;
        if (corrected && !sample.lesson.strokes.empty()) {
            lessons.corrected.push_back(sample.lesson);
            strokes += sample.lesson.strokes.size();
        } else if (!corrected) {
            elsewhere.push_back(sample.lesson);
            elsewhere.back().strokes.clear();
            judged[of].push_back(&sample);
        }
    }
    const size_t most = std::min<size_t>(12, elsewhere.size());  // as `teach` does
    for (size_t i = 0; i < most; ++i) lessons.elsewhere.push_back(elsewhere[i * elsewhere.size() / most]);
    const double threshold = RootSettings{}.min_probability;
    const Learnt learnt = learn(lessons, shippedRootLayer(), threshold);
    std::printf("| %s, photos %s%s | %zu on %zu | %.0f -> %.0f | ", tub.empty() ? "all" : tub.c_str(),
                odd ? "2, 4, 6" : "1, 3, 5", alone ? "" : " of all six tubs", strokes,
                lessons.corrected.size(), 100 * learnt.held_out_before.right.value_or(0),
                100 * learnt.held_out_after.right.value_or(0));
    if (!learnt.why_not.empty()) {
        std::printf("- | not kept |\n");
        return;
    }
    const RootLayer& layer = learnt.layer;
    if (!tub.empty())
        std::printf("%.3f -> %.3f | ", dice(judged[tub], shippedRootLayer(), threshold),
                    dice(judged[tub], layer, threshold));
    else
        for (const auto& [name, photos] : judged)
            std::printf("%s %.3f -> %.3f; ", name.c_str(), dice(photos, shippedRootLayer(), threshold),
                        dice(photos, layer, threshold));
    std::printf("%skept |\n", tub.empty() ? "| " : "");
}

void run(const std::filesystem::path& folder)
{
    const benchmark::TemporaryFolder out;
    MeasureOptions options;
    options.photos = {folder / "photos"};
    options.batch = folder / "batch.csv";
    options.out = out.path();
    options.today = Date{std::chrono::year{2026} / 4 / 1};
    measure(options, {});
    options.threads = 1;
    const auto samples = samplesIn(folder, out.path(), options);
    std::set<std::string> tubs;
    for (const auto& [stem, sample] : samples) tubs.insert(sample.lesson.tub);
    std::printf(
        "| corrected | strokes, photos | right under strokes left out, %% | Dice of the photos not "
        "corrected | |\n|---|---|---|---|---|\n");
    for (const bool alone : {true, false})
        for (const std::string& tub : tubs)
            for (const bool odd : {true, false}) tryOn(samples, tub, odd, alone);
    for (const bool odd : {true, false}) tryOn(samples, "", odd, false);
}

}  // namespace
}  // namespace slipglass

/// @param argv  "purple": the samples as under a purple lamp, instead of as they are.
int main(int argc, char** argv)
{
    namespace fs = std::filesystem;
    using namespace slipglass;
    if (argc < 2 || std::string(argv[1]) != "purple") {
        run(test::kSamples);
        return 0;
    }
    const benchmark::TemporaryFolder lit;
    fs::create_directories(lit.path() / "photos");
    for (const std::string& stem : test::sampleStems())
        test::writeUnderPurpleLamp(test::samplePhoto(stem), lit.path() / "photos" / (stem + ".jpg"));
    fs::copy_file(test::kSamples / "batch.csv", lit.path() / "batch.csv");
    fs::copy(test::kSamples / "truth", lit.path() / "truth");
    run(lit.path());
}
