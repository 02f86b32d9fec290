#pragma once
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <thread>

#include "season_folder.h"
#include "slipglass/measure.h"
#include "slipglass/overview/given.h"
#include "slipglass/shelf/shelf.h"

namespace slipglass {

/// Measures the season's photos in a thread of its own, whenever something was given.
class Work {
public:
    enum class Given { photos, plan, care, settings, corrections };

    /// @param options  the season's path is absolute.
    /// Throws Error when the folder holds a season file that cannot be used.
    explicit Work(const ShelfOptions& options);
    ~Work();  ///< photos under way are finished
    Work(const Work&) = delete;
    Work& operator=(const Work&) = delete;

    /// Looks for what came while nobody served, too. What is given before waits for it.
    void begin();
    /// To be called when it has been written. Kept on the disk until a run has read it.
    void wake(Given what);
    /// What can be done with the root map: teach it by what was drawn, or take back what it was taught.
    enum class Lesson { teach, forget };
    void wake(Lesson what);  ///< once what was given is measured; then all is measured with it
    /// Written, and not yet read by a run that came to its end.
    bool waits(Given what) const;

    /// How far it is.
    struct State {
        int round = 0;         ///< runs that have ended: pages may be new
        bool busy = false;     ///< one is under way or wanted
        int done = 0, of = 0;  ///< photos of the run under way
        std::optional<int> seconds_left;
        std::string failure;  ///< why the last run could not be; for people
        std::vector<std::string> warnings;
        std::vector<KnownByGrains> by_grains;  ///< since it began
        std::vector<OfNoTub> of_no_tub;
        std::vector<Problem> problems;
        std::vector<std::string> tubs;
        std::map<std::string, std::vector<std::string>> cuttings;  ///< by tub
        int drawn_photos = 0;                                      ///< photos with strokes that are kept
        bool learning = false;                                     ///< a lesson is under way or wanted
        std::string lesson;                                        ///< what came of the last one; for people
        std::map<std::string, std::string> pictures;  ///< of each tub the latest, below the season's folder
    };
    State state() const;
    /// What the season was given beside the photos, as the last run left it. Asked for here and not in the
    /// season file, which a run may just be writing, and which is slow to open.
    slipglass::Given kept() const;
    /// The tubs that a photo was found to show; none where it is not measured.
    std::set<std::string> tubsOn(const std::string& photo) const;

private:
    void loop();
    /// @return  whether it came to its end.
    bool runOnce(const std::set<Given>& given);
    std::string doLesson(Lesson lesson);
    void tellTaught();
    MeasureEvents events();
    std::vector<std::filesystem::path> photos() const;
    void note(const MeasureResult& result);
    /// A file that is there while something given waits: a kill must not have it forgotten.
    std::filesystem::path mark(Given what) const;

    ShelfOptions options_;
    SeasonFolder folder_;
    mutable std::mutex mutex_;
    std::condition_variable wanted_;
    std::set<Given> given_;
    std::optional<Lesson> lesson_;
    slipglass::Given kept_;
    std::map<std::string, std::set<std::string>> tubs_on_;  ///< by photo
    bool wants_ = false;
    std::atomic<bool> stop_{false};
    State state_;
    std::chrono::steady_clock::time_point began_;
    std::thread thread_;
};

}  // namespace slipglass
