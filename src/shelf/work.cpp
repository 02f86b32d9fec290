#include "work.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "lesson_words.h"
#include "slipglass/corrections/correction.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/overview/given.h"
#include "slipglass/photo/list_photos.h"
#include "slipglass/store/write_file.h"
#include "slipglass/teach.h"

namespace slipglass {

namespace fs = std::filesystem;

namespace {

/// A file that holds: given now, or the very one that was given last.
bool holds(const std::optional<Given::File>& kept, const fs::path& file, bool given_now)
{
    std::error_code none;
    return fs::exists(file, none) && (given_now || !kept || isOwn(kept->name, file));
}

Given keptIn(const fs::path& out)
{
    if (!fs::exists(out / output::kSeason)) return {};
    return givenIn(SeasonStore(out / output::kSeason, SeasonStore::Use::read)).value_or(Given{});
}

/// Photos with strokes among all corrections that hold.
int drawnPhotos(const Given& given)
{
    std::set<std::string> photos;
    if (given.corrections)
        for (const CorrectionFile& file : parseCorrections(correctionTextsIn(given.corrections->text)).files)
            if (!file.correction.strokes.empty())
                photos.insert(file.correction.photo.empty()
                                  ? file.stem
                                  : fs::path(file.correction.photo).replace_extension().generic_string());
    return static_cast<int>(photos.size());
}

}  // namespace

Work::Work(const ShelfOptions& options)
    : options_(options), folder_{options.season}, kept_(keptIn(folder_.out))
{
    for (const Given what : {Given::plan, Given::care, Given::settings, Given::corrections})
        if (fs::exists(mark(what))) given_.insert(what);
    wants_ = true;
    state_.busy = true;
}

void Work::begin()
{
    thread_ = std::thread([this] { loop(); });
}

Work::~Work()
{
    {
        const std::lock_guard lock(mutex_);
        stop_ = true;
    }
    wanted_.notify_all();
    if (thread_.joinable()) thread_.join();
}

fs::path Work::mark(Given what) const
{
    constexpr const char* kMarks[] = {"photos", "plan", "care", "settings", "corrections"};
    return folder_.uploads() / ("waits-" + std::string(kMarks[static_cast<int>(what)]));
}

slipglass::Given Work::kept() const
{
    const std::lock_guard lock(mutex_);
    return kept_;
}

std::set<std::string> Work::tubsOn(const std::string& photo) const
{
    const std::lock_guard lock(mutex_);
    const auto found = tubs_on_.find(photo);
    return found == tubs_on_.end() ? std::set<std::string>{} : found->second;
}

bool Work::waits(Given what) const
{
    const std::lock_guard lock(mutex_);
    return given_.count(what) > 0;
}

void Work::wake(Given what)
{
    {
        const std::lock_guard lock(mutex_);
        if (what != Given::photos) writeFile(mark(what), "");
        given_.insert(what);
        wants_ = true;
        state_.busy = true;
    }
    wanted_.notify_all();
}

void Work::wake(Lesson what)
{
    {
        const std::lock_guard lock(mutex_);
        lesson_ = what;
        wants_ = true;
        state_.busy = state_.learning = true;
    }
    wanted_.notify_all();
}

Work::State Work::state() const
{
    const std::lock_guard lock(mutex_);
    State now = state_;
    if (now.done > 0 && now.done < now.of) {
        const double seconds =
            std::chrono::duration<double>(std::chrono::steady_clock::now() - began_).count();
        now.seconds_left = static_cast<int>(std::lround(seconds * (now.of - now.done) / now.done));
    }
    return now;
}

void Work::loop()
{
    tellTaught();
    for (;;) {
        std::set<Given> given;
        std::optional<Lesson> lesson;
        {
            std::unique_lock lock(mutex_);
            wanted_.wait(lock, [&] { return wants_ || stop_; });
            if (stop_) return;
            wants_ = false;
            given = given_;
            lesson = std::exchange(lesson_, std::nullopt);
            state_.done = state_.of = 0;
            state_.warnings.clear();
            began_ = std::chrono::steady_clock::now();
        }
        std::string failure;
        bool ended = false;
        try {
            ended = runOnce(given);
            if (lesson && ended) {
                const std::string said = doLesson(*lesson);
                {
                    const std::lock_guard lock(mutex_);
                    state_.lesson = said;
                    state_.learning = lesson_.has_value();
                }
                ended = runOnce(given);
            }
        } catch (const std::exception& error) {
            failure = error.what();
        }
        const std::lock_guard lock(mutex_);
        // What was given and could not be used is given again.
        if (ended)
            for (const Given what : given)
                if (!wants_) {
                    given_.erase(what);
                    std::error_code none;
                    fs::remove(mark(what), none);
                }
        state_.failure = failure;
        state_.busy = wants_;
        state_.learning = lesson_.has_value();
        state_.done = state_.of = 0;
        ++state_.round;
    }
}

bool Work::runOnce(const std::set<Given>& given)
{
    MeasureOptions run;
    run.out = folder_.out;
    run.threads = options_.threads;
    run.today = options_.today();
    fs::create_directories(folder_.photos());
    run.photos = photos();
    const slipglass::Given kept = this->kept();
    if (listPhotos(run.photos).files.empty()) {
        if (!fs::exists(folder_.out / output::kSeason)) return true;  // nothing has come yet
        run.photos.clear();
    }
    if (holds(kept.plan, folder_.plan(), given.count(Given::plan) > 0)) run.batch = folder_.plan();
    if (holds(kept.settings, folder_.settings(), given.count(Given::settings) > 0))
        run.settings = folder_.settings();
    if (holds(kept.care, folder_.care(), given.count(Given::care) > 0)) run.care = folder_.care();
    if (holds(kept.corrections, folder_.corrections(), given.count(Given::corrections) > 0))
        run.corrections = folder_.corrections();
    const MeasureResult result = measure(run, events());
    note(result);
    return !result.stopped;
}

void Work::note(const MeasureResult& result)
{
    const int drawn = drawnPhotos(result.given);
    const std::lock_guard lock(mutex_);
    kept_ = result.given;
    state_.drawn_photos = drawn;
    for (const KnownByGrains& one : result.by_grains) {
        std::erase_if(state_.by_grains, [&](const auto& known) { return known.photo == one.photo; });
        state_.by_grains.push_back(one);
    }
    // Those that have been given another name since.
    std::erase_if(state_.by_grains, [&](const KnownByGrains& known) {
        return std::none_of(result.season.observations.begin(), result.season.observations.end(),
                            [&](const Observation& seen) { return seen.photo == known.photo; });
    });
    tubs_on_.clear();
    for (const Observation& seen : result.season.observations) tubs_on_[seen.photo].insert(seen.tub);
    state_.of_no_tub = result.of_no_tub;
    state_.problems = result.season.problems;
    for (const auto& [seen, overlay] : overlayNames(result.season.observations)) {
        std::string& picture = state_.pictures[seen.second];  // names of a tub's pictures begin with the day
        picture = std::max(picture, pagePictureNames(overlay).small);
    }
    state_.tubs.clear();
    state_.cuttings.clear();
    for (const Series& series : result.season.series)
        state_.cuttings[series.cutting.tub].push_back(series.cutting.cutting);
    for (const Series& series : result.season.series)
        if (state_.tubs.empty() || state_.tubs.back() != series.cutting.tub)
            state_.tubs.push_back(series.cutting.tub);
}

std::string Work::doLesson(Lesson lesson)
{
    const Words words(kept().pages);
    try {
        const bool had = fs::exists(folder_.out / output::kTaught);
        if (lesson == Lesson::forget) return forgottenWords(forgetTaught(folder_.out), words);
        TeachOptions options;
        options.out = folder_.out;
        options.corrections = folder_.corrections();
        options.photos = photos();
        options.threads = options_.threads;
        options.today = options_.today();
        const TeachResult result = teach(options, events());
        return result.stopped ? "" : lessonWords(result, had, words);
    } catch (const Error& error) {
        return words("Nothing was learnt.") + " " + error.what();
    }
}

void Work::tellTaught()
{
    std::string said;
    try {
        if (const auto taught = readTaught(folder_.out / output::kTaught))
            said = learntWords(*taught, Words(kept().pages));
    } catch (const Error& error) {
        said = error.what();
    }
    const std::lock_guard lock(mutex_);
    state_.lesson = said;
}

MeasureEvents Work::events()
{
    MeasureEvents events;
    events.stop = &stop_;
    events.progress = [this](int done, int of) {
        const std::lock_guard lock(mutex_);
        state_.done = done;
        state_.of = of;
    };
    events.warn = [this](const std::string& warning) {
        const std::lock_guard lock(mutex_);
        state_.warnings.push_back(warning);
    };
    return events;
}

std::vector<fs::path> Work::photos() const
{
    std::vector<fs::path> all = options_.photos;
    all.push_back(folder_.photos());
    return all;
}

}  // namespace slipglass
