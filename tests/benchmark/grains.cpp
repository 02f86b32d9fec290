// How well a photo's tub is known by the grains of its wall alone: docs/measured/grains.md. Every photo of
// every folder is compared with all others, once with its own tub's among them, once without, as if it were a
// stranger. Neither its name, nor its label, nor its tub's type is looked at.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <map>

#include "slipglass/observe.h"
#include "slipglass/season/plan.h"
#include "slipglass/wall/known_by_grains.h"

namespace fs = std::filesystem;
using namespace slipglass;

namespace {

struct Shot {
    std::string photo, folder;
    fs::path path;
    Date date{};
    std::optional<WallOfTub> wall;  ///< empty where it cannot be measured
};

/// As `measure` has it of a photo whose tub is known.
std::optional<WallOfTub> wallOf(const Shot& shot, const std::string& tub, const std::optional<TubType>& type,
                                const Settings& settings)
{
    const PhotoFacts facts = readFacts(shot.path);
    const Picture picture = readPicture(shot.path, facts, kPictureSide);
    TubInPhoto which{tub, type, std::nullopt};
    for (const Label& label : labelsIn(picture, settings.label))
        if (label.tub == tub) which.label = label;
    const Look look = findWall(picture, facts, shot.photo, {}, which, settings);
    if (!look.panel || look.seen.state == State::retake) return std::nullopt;
    return WallOfTub{shot.folder + " " + tub, shot.date, viewOfPanel(*look.panel)};
}

void addShots(std::vector<Shot>& shots, const fs::path& scenes)
{
    Settings settings;
    if (fs::exists(scenes / "settings.json")) settings = readSettingsFile(scenes / "settings.json");
    std::map<std::string, std::string> types;
    for (const PlannedCutting& c : readPlan(scenes / "batch.csv").cuttings) types[c.tub] = c.tub_type;
    std::vector<fs::path> photos;
    for (const auto& entry : fs::directory_iterator(scenes / "photos")) photos.push_back(entry.path());
    std::sort(photos.begin(), photos.end());
    for (const fs::path& path : photos) {
        const std::string stem = path.stem().string(), tub = stem.substr(0, stem.find('_'));
        Shot shot{
            stem, scenes.filename().string(), path, *parseIsoDate(stem.substr(stem.find('_') + 1, 10)), {}};
        std::optional<TubType> type;
        if (!types[tub].empty()) type = tubType(types[tub], settings.tub_types);
        shot.wall = wallOf(shot, tub, type, settings);
        shots.push_back(std::move(shot));
    }
}

/// How often each came out.
struct Count {
    int right = 0, wrong = 0, asked = 0, none = 0;

    void add(const std::vector<Likeness>& like, const std::string& tub)
    {
        if (const auto known = knownTub(like))
            ++(*known == tub ? right : wrong);
        else
            ++(likelyTubs(like).empty() ? none : asked);
    }
    void print(const char* what) const
    {
        std::printf("%s: to its own tub %d, to another %d, asked %d, to none %d\n", what, right, wrong, asked,
                    none);
    }
};

}  // namespace

int main(int argc, char** argv)
{
    CLI::App app("How often a tub is known by its grains: a row of CSV for each photo, then counts.");
    std::vector<fs::path> folders;
    app.add_option("SCENES", folders, "folders with photos/, batch.csv and perhaps settings.json")
        ->required();
    CLI11_PARSE(app, argc, argv);
    std::vector<Shot> shots;
    for (const fs::path& folder : folders) addShots(shots, folder);

    Count with_all, with_earlier, strangers;
    std::puts("photo,own,next,own_by_earlier,next_by_earlier,as_stranger");
    for (const Shot& shot : shots) {
        const PhotoFacts facts = readFacts(shot.path);
        const Picture picture = readPicture(shot.path, facts, kPictureSide);
        const TubFinding found = findTub(
            {picture.bgr, picture.full_size, facts.focal_35mm, std::nullopt, std::nullopt}, TubSettings{});
        if (!found.tub) {
            std::printf("%s,no tub found\n", shot.photo.c_str());
            continue;
        }
        const std::string tub = shot.folder + " " + shot.photo.substr(0, shot.photo.find('_'));
        WallInPhoto wall(picture, *found.tub, PanelSettings{});
        std::vector<WallOfTub> all, earlier, others;
        for (const Shot& other : shots) {
            if (&other == &shot || !other.wall) continue;
            all.push_back(*other.wall);
            if (other.date < shot.date) earlier.push_back(*other.wall);
            if (other.wall->tub != tub) others.push_back(*other.wall);
        }
        std::printf("%s", shot.photo.c_str());
        for (const auto& [known, count] : {std::pair(&all, &with_all), std::pair(&earlier, &with_earlier)}) {
            const auto like = likenesses(wall, shot.date, *known);
            double own = -1, next = 0;
            for (const Likeness& one : like)
                (one.tub == tub ? own : next) = std::max(one.tub == tub ? own : next, one.likeness);
            if (own >= 0) count->add(like, tub);
            if (own >= 0)
                std::printf(",%.3f,%.3f", own, next);
            else
                std::printf(",,%.3f", next);
        }
        const auto as_stranger = likenesses(wall, shot.date, others);
        strangers.add(as_stranger, tub);
        std::printf(",%.3f\n", as_stranger.front().likeness);
        std::fflush(stdout);
    }
    with_all.print("with other photos of its tub");
    with_earlier.print("with earlier photos of its tub alone");
    strangers.print("as a stranger");
    return 0;
}
