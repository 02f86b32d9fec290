// slipglass_large_season MEASURED PHOTOS OUT TUBS DATES: a folder of photos and a season that has measured
// them all, as large as wanted, out of one that was measured in earnest (all of whose tubs were
// photographed). So that a week's run can be timed among thousands of kept photos without measuring
// thousands. The photos are copies with bytes of their own behind the picture. Two more a tub are left over
// for weeks to be timed: in the first, photos-new, a tub's wall is read from its first photo on; in the
// second, photos-newer, as in earnest.
#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>

#include "run.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/overview/given.h"
#include "slipglass/store/content_hash.h"
#include "slipglass/store/write_file.h"
#include "slipglass/wall/wall_history.h"

namespace {

namespace fs = std::filesystem;
using namespace slipglass;

std::string bytesOf(const fs::path& path)
{
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// The same file under another name, without its bytes a second time.
void sameFile(const fs::path& from, const fs::path& to)
{
    if (!fs::exists(from)) return;
    fs::create_directories(to.parent_path());
    fs::create_hard_link(from, to);
}

struct Large {
    const SeasonStore& model;
    fs::path measured, model_photos, photos, out;
    SeasonStore& store;
    FiguresKey figures;
    Looking looking;
    std::map<PhotoAndTub, std::string> overlays;

    void addTub(const std::vector<Observation>& seen, const std::string& tub, int dates);
    void setRead(const std::string& tub, const std::string& from, const std::string& basis);
    void addPictures(const Observation& from, const std::string& tub, const std::string& stem, Date date);
};

void Large::addPictures(const Observation& from, const std::string& tub, const std::string& stem, Date date)
{
    const std::string overlay = overlayName(tub, date, 1), before = overlays.at({from.photo, from.tub});
    sameFile(measured / before, out / overlay);
    const PagePictureNames names = pagePictureNames(overlay), model_names = pagePictureNames(before);
    for (const auto name : {&PagePictureNames::photo, &PagePictureNames::small, &PagePictureNames::found,
                            &PagePictureNames::wall, &PagePictureNames::facts})
        sameFile(measured / (model_names.*name), out / (names.*name));
    const MaskNames masks = maskNames(stem), model_masks = maskNames(fs::path(from.photo).stem().string());
    sameFile(measured / model_masks.roots, out / masks.roots);
    sameFile(measured / model_masks.wall, out / masks.wall);
}

/// Says of a tub's wall that it has been read, as read_wall.cpp does (setKeys): reading thousands takes
/// hours. No sums are kept, so that the first week reads all photos of its tubs.
void Large::setRead(const std::string& tub, const std::string& from, const std::string& basis)
{
    std::string before = contentHash(basis);
    std::vector<std::string> names, up_to;
    for (const KeptView& view : store.views(tub)) {
        before = contentHash(before + '\n' + view.photo + '\n' + contentHash(view.meta) + view.picture_hash);
        names.push_back(view.photo);
        up_to.push_back(before);
    }
    auto wall = model.wall(from);
    if (!wall || names.empty()) return;
    wall->key = contentHash(basis + '\n' + up_to.back());
    wall->rests_on = basis;
    wall->sums.clear();
    std::vector<WallRecord::Mark> marks;
    for (size_t n = 0; n < names.size(); ++n)
        marks.push_back({names[n], up_to[std::min(n + kLaterAsked, names.size() - 1)], true});
    store.putWall(tub, *wall, {}, marks);
}

void Large::addTub(const std::vector<Observation>& seen, const std::string& tub, int dates)
{
    std::map<std::string, KeptView> views;
    for (const KeptView& view : model.views(seen[0].tub)) views[view.photo] = view;
    const std::string basis = basisOf(tub, figures, looking);
    std::string before;
    for (int nth = 0; nth < dates + 2; ++nth) {
        const Observation& from = seen[static_cast<size_t>(nth) % seen.size()];
        const Date date{std::chrono::sys_days{std::chrono::year{2026} / 1 / 1} + std::chrono::days{7 * nth}};
        const std::string stem = tub + "_" + isoDate(date);
        // Bytes behind a JPEG's end are no part of the picture.
        const std::string bytes = bytesOf(model_photos / from.photo) + stem;
        if (nth >= dates) {  // of a week to come
            writeFile(photos.string() + (nth == dates ? "-new/" : "-newer/") + stem + ".jpg", bytes);
            continue;
        }
        writeFile(photos / (stem + ".jpg"), bytes);
        MadeFrom made = model.photo(from.photo)->made;
        made.content = contentHash(bytes);
        made.program = figures.program;  // the season may have been measured by another version
        made.settings = figures.settings;
        made.tubs = contentHash(basis + ' ' + contentHash(before) + ' ');
        before += made.content + ' ' + made.program + ' ' + made.settings + ' ' + made.moved + '\n';
        Observation now = from;
        now.photo = stem + ".jpg";
        now.tub = tub;
        now.taken.date = date;
        std::vector<KeptView> kept;
        if (const auto view = views.find(from.photo); view != views.end()) {
            KeptView copy = view->second;
            copy.photo = now.photo;
            copy.tub = tub;
            copy.basis = basis;
            copy.side = tub;
            copy.picture = model.viewPicture(from.photo, from.tub);
            copy.panel = model.panel(from.photo, from.tub);
            kept.push_back(copy);
        }
        store.putPhoto(now.photo, made, {now}, {}, kept, date);
        addPictures(from, tub, stem, date);
    }
    setRead(tub, seen[0].tub, basis);
    sameFile(measured / growthMapName(seen[0].tub), out / growthMapName(tub));
    sameFile(measured / growthLegendName(seen[0].tub), out / growthLegendName(tub));
}

}  // namespace

int main(int argc, char** argv)
{
    if (argc != 6) {
        std::cerr << "usage: slipglass_large_season MEASURED PHOTOS OUT TUBS DATES\n";
        return 1;
    }
    const fs::path measured = argv[1], photos = argv[2], out = argv[3];
    const int tubs = std::stoi(argv[4]), dates = std::stoi(argv[5]);
    const SeasonStore model(measured / output::kSeason, SeasonStore::Use::read);
    const Settings settings;
    std::string csv = "cutting,tub,variety,medium,treatment,stuck_on,tub_type\n";
    std::map<std::string, std::vector<Observation>> seen;
    for (const Observation& one : model.observations()) seen[one.tub].push_back(one);
    std::vector<std::vector<Observation>> models;
    for (const auto& [tub, all] : seen) models.push_back(all);
    const auto idOf = [](int tub) { return std::string("T").append(std::to_string(10'000 + tub)); };
    for (int tub = 0; tub < tubs; ++tub) {
        const std::string own_type = models[static_cast<size_t>(tub) % models.size()][0].tub;
        csv.append("C").append(idOf(tub), 1).append(",").append(idOf(tub)).append(",Quince Plot ");
        csv.append(std::to_string(tub % 7)).append(tub % 2 ? ",vermiculite," : ",peat,");
        csv.append(tub % 3 ? "hormone" : "none").append(",2026-01-01,");
        csv.append(own_type == "T05" ? "gallon\n" : "quart\n");
    }
    writeFile(out / "batch.csv", csv);
    const std::optional<Plan> plan = parsePlan(csv, "batch.csv", Date{std::chrono::year{2026} / 12 / 1});
    const fs::path season = out / "season";
    SeasonStore store(season / output::kSeason);
    Large large{model,
                measured,
                photos,
                out / "photos",
                season,
                store,
                figuresKey(settings),
                {settings, plan},
                overlayNames(model.observations())};
    for (int tub = 0; tub < tubs; ++tub)
        large.addTub(models[static_cast<size_t>(tub) % models.size()], idOf(tub), dates);
    Given given;
    given.plan = Given::File{csv, "batch.csv", Date{std::chrono::year{2026} / 1 / 1}};
    given.today = Date{std::chrono::year{2026} / 12 / 1};
    putGiven(store, given);
    std::cout << tubs * dates << " photos of " << tubs << " tubs in " << out.string()
              << "; photos-new and photos-newer have one more of each\n";
    return 0;
}
