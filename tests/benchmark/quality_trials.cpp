#include "quality_trials.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <fstream>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgcodecs.hpp>
#include <thread>

#include "../support/earlier.h"
#include "../support/pasted_tub.h"
#include "degrade.h"
#include "slipglass/error.h"
#include "slipglass/season/plan.h"

namespace slipglass::benchmark {

namespace {

namespace fs = std::filesystem;

/// A photo with its truth.
struct Known {
    std::string stem, tub;
    fs::path photo;
    PhotoFacts facts;
    Scene scene;
    Truth truth;
    nlohmann::json truth_json;
};

/// A tub's photos by date, and its undamaged reference panel.
struct KnownTub {
    std::optional<TubType> type;
    std::vector<Known> photos;
    std::vector<EarlierView> good;
};

Settings withoutRefusal()
{
    Settings settings;
    QualitySettings& q = settings.quality;
    q.retake_px_per_mm = q.caution_px_per_mm = 0.1;
    q.retake_sharpness = q.caution_sharpness = 0;
    q.retake_lightness = q.caution_lightness = 0;
    q.retake_burnt_percent = q.caution_burnt_percent = 100;
    q.retake_glare_percent = q.caution_glare_percent = 100;
    q.caution_tilt_deg = 90;
    q.caution_in_frame = q.least_in_frame = 0;
    q.caution_filled = 100;
    q.caution_confidence = 0;
    return settings;
}

Known readKnown(const TruthFiles& files, const fs::path& photos)
{
    Known known;
    known.stem = files.stem;
    known.photo = photos / (files.stem + ".jpg");
    known.truth = readTruth(files.json);
    known.tub = known.truth.tub;
    known.truth_json = nlohmann::json::parse(std::ifstream(files.json));
    known.facts = readFacts(known.photo);
    Scene& scene = known.scene;
    scene.bgr = readPicture(known.photo, known.facts, 100000).bgr;
    scene.roots = cv::imread(files.roots.string(), cv::IMREAD_GRAYSCALE) > 127;
    scene.wall = cv::imread(files.wall.string(), cv::IMREAD_GRAYSCALE) > 127;
    scene.px_per_mm = known.truth.px_per_mm.value_or(1);
    scene.focal_px = known.facts.focal_35mm.value_or(28) / 36 * std::max(scene.bgr.cols, scene.bgr.rows);
    return known;
}

Look lookAt(const Known& known, const cv::Mat& bgr, const std::optional<TubType>& type,
            const std::vector<EarlierView>& earlier, const Settings& settings)
{
    const Picture picture{bgr, bgr.size(), 1};
    TubInPhoto which{known.tub, type, std::nullopt};
    for (const Label& label : labelsIn(picture, settings.label))
        if (label.tub == which.tub) which.label = label;
    return observe(picture, known.facts, known.stem + ".jpg", {}, which, earlier, settings);
}

std::vector<EarlierView> historyFrom(const Look& look)
{
    if (!look.view) return {};
    return {test::earlier(look)};
}

/// The state the shipped limits give.
void judge(Trial& trial, const Look& look)
{
    trial.quality = look.quality;
    trial.seen = look.seen;
    trial.compared = look.before.has_value();
    trial.told = look.seen.state;
    std::vector<std::string> said = look.seen.notes;
    if (look.quality)
        for (const Doubt& doubt : doubtsOf(*look.quality, {})) {
            trial.told = std::max(trial.told, doubt.state);
            said.push_back(doubt.why);
        }
    for (const std::string& line : said) trial.why += (trial.why.empty() ? "" : "; ") + line;
}

Trial named(const std::string& kind, const std::string& unit, const std::string& photo, First first)
{
    Trial trial;
    trial.kind = kind;
    trial.unit = unit;
    trial.photo = photo;
    trial.first = first;
    return trial;
}

/// Below this share of the wall, percent, no eye sees a root.
constexpr double kRootlessPercent = 0.02;

Trial trialOf(const Degradation& step, const Known& known, const Scene& spoilt, const Look& look, First first)
{
    Trial trial = named(step.kind, step.unit, known.stem, first);
    trial.amount = step.amount;
    trial.rootless = known.truth.panel_coverage_percent.value_or(1) < kRootlessPercent;
    judge(trial, look);
    Truth truth = known.truth;
    truth.px_per_mm = spoilt.px_per_mm;
    if (look.panel)
        trial.agreement = agreementOn(known.stem, truth, {spoilt.roots, spoilt.wall}, look.seen,
                                      {look.root_mask, look.wall_mask}, {});
    return trial;
}

std::vector<const Known*> spreadOver(const std::vector<Known>& photos, int count)
{
    std::vector<const Known*> chosen;
    const int later = static_cast<int>(photos.size()) - 1;
    for (int i = 1; i <= std::min(count, later); ++i)
        chosen.push_back(&photos[static_cast<size_t>((i * later + count - 1) / count)]);
    return chosen;
}

/// One tub at one step: its first photo alone, later ones against the good first photo, and one against the
/// first photo spoilt alike.
std::vector<Trial> trialsOf(const Degradation& step, const KnownTub& tub, int later_photos)
{
    const Settings settings = withoutRefusal();
    std::vector<Trial> trials;
    const Known& first = tub.photos.front();
    const Scene spoilt_first = step.apply(first.scene);
    const Look first_look = lookAt(first, spoilt_first.bgr, tub.type, {}, settings);
    trials.push_back(trialOf(step, first, spoilt_first, first_look, First::none));
    const auto later = spreadOver(tub.photos, later_photos);
    for (const Known* known : later) {
        const Scene spoilt = step.apply(known->scene);
        const Look look = lookAt(*known, spoilt.bgr, tub.type, tub.good, settings);
        trials.push_back(trialOf(step, *known, spoilt, look, First::good));
        if (!step.alike || known != later.front()) continue;
        const Look alike = lookAt(*known, spoilt.bgr, tub.type, historyFrom(first_look), settings);
        trials.push_back(trialOf(step, *known, spoilt, alike, First::alike));
    }
    return trials;
}

/// The same filling in a tub at its first and at a later date: other light, pose and turn.
std::vector<Trial> pastedTrials(const test::Filling& filling, const std::string& kind, const KnownTub& tub,
                                const fs::path& pictures)
{
    const Settings settings = withoutRefusal();
    std::vector<Trial> trials;
    std::vector<EarlierView> history;
    for (const Known* known : {&tub.photos.front(), &tub.photos[tub.photos.size() / 2]}) {
        const cv::Mat bgr = test::filledWith(filling, known->scene.bgr, known->scene.wall, known->truth_json);
        const Look look = lookAt(*known, bgr, tub.type, history, settings);
        Trial trial = named(kind, filling.name, known->stem, history.empty() ? First::none : First::good);
        trial.rootless = true;
        judge(trial, look);
        trials.push_back(trial);
        history = historyFrom(look);
        if (pictures.empty()) continue;
        cv::Mat marked = bgr.clone();
        marked.setTo(cv::Scalar(0, 0, 255), look.root_mask);
        const std::string name = filling.name + " in " + known->stem;
        cv::imwrite((pictures / (name + ".jpg")).string(), bgr);
        cv::imwrite((pictures / (name + " marked.jpg")).string(), marked);
    }
    return trials;
}

std::map<std::string, KnownTub> readTubs(const TrialOptions& options)
{
    std::map<std::string, KnownTub> tubs;
    for (const TruthFiles& files : listTruth(options.folder)) {
        Known known = readKnown(files, options.folder / "photos");
        tubs[known.tub].photos.push_back(std::move(known));  // stems are sorted: by tub, then date
    }
    const Plan plan = readPlan(options.folder / "batch.csv");
    for (const PlannedCutting& cutting : plan.cuttings)
        if (tubs.count(cutting.tub) && !cutting.tub_type.empty())
            tubs[cutting.tub].type = tubType(cutting.tub_type, {});
    return tubs;
}

bool wanted(const std::string& kind, const TrialOptions& options)
{
    return options.kinds.empty() ||
           std::find(options.kinds.begin(), options.kinds.end(), kind) != options.kinds.end();
}

using Job = std::function<std::vector<Trial>()>;

/// Runs jobs side by side; their results come in the jobs' order. The first thing thrown is thrown again.
std::vector<Trial> runAll(const std::vector<Job>& jobs, int threads,
                          const std::function<void(size_t, size_t)>& progress)
{
    std::vector<std::vector<Trial>> results(jobs.size());
    std::atomic<size_t> next{0};
    size_t done = 0;
    std::mutex telling;
    std::exception_ptr thrown;
    const auto work = [&] {
        for (size_t i = next++; i < jobs.size(); i = next++) {
            try {
                results[i] = jobs[i]();
            } catch (...) {
                const std::scoped_lock lock(telling);
                thrown = std::current_exception();
                next = jobs.size();
                return;
            }
            const std::scoped_lock lock(telling);
            progress(++done, jobs.size());
        }
    };
    {
        std::vector<std::jthread> workers;
        for (int i = 0; i < threads; ++i) workers.emplace_back(work);
    }
    if (thrown) std::rethrow_exception(thrown);
    std::vector<Trial> all;
    for (auto& result : results) all.insert(all.end(), result.begin(), result.end());
    return all;
}

}  // namespace

std::vector<Trial> runTrials(const TrialOptions& options, const std::function<void(size_t, size_t)>& progress)
{
    cv::setNumThreads(1);
    std::map<std::string, KnownTub> tubs = readTubs(options);
    for (auto& [id, tub] : tubs) {
        const Known& first = tub.photos.front();
        tub.good = historyFrom(lookAt(first, first.scene.bgr, tub.type, {}, withoutRefusal()));
        if (tub.good.empty())
            throw Error(first.photo.string(), "no tub was found in it", "A tub's first photo has to be good");
    }
    const std::vector<Degradation> steps = degradations();
    const std::vector<test::Filling> drawn = test::drawnFillings();
    std::vector<test::Filling> photographed;
    if (!options.textures.empty()) photographed = test::photographedFillings(options.textures);

    std::vector<Job> jobs;
    for (const Degradation& step : steps)
        for (const auto& [id, named] : tubs)
            if (wanted(step.kind, options))
                jobs.emplace_back(
                    [&, &tub = named, count = options.later_photos] { return trialsOf(step, tub, count); });
    const auto fill = [&](const std::string& kind, const std::vector<test::Filling>& fillings) {
        for (const test::Filling& filling : fillings) {
            bool other = true;  // every other tub is filled: what is asked is the filling, not the tub
            for (const auto& [id, named] : tubs) {
                if (other)
                    jobs.emplace_back([&, &tub = named, kind] {
                        return pastedTrials(filling, kind, tub, options.pictures);
                    });
                other = !other;
            }
        }
    };
    if (wanted("filled", options)) {
        fill("filled with a pattern", drawn);
        fill("filled with a photograph", photographed);
    }
    return runAll(jobs, options.threads, progress);
}

}  // namespace slipglass::benchmark
