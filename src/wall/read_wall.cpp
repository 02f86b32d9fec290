#include "slipglass/wall/read_wall.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "slipglass/photo/picture_bytes.h"
#include "slipglass/store/content_hash.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// A photo's view of the wall, and how it is to be read.
struct Photo {
    KeptView kept;
    ViewFacts facts;
    std::string read_with;  ///< as KeptView's, if it is read with the photos there are now
};

/// Photos of a side in order of date.
struct Side {
    std::string id;
    std::vector<size_t> photos;      ///< of Wall::photos
    std::vector<std::string> up_to;  ///< one a photo: tells it and all before it
};

/// All that the season file has of a tub's wall on one basis, in order of date.
struct Wall {
    std::vector<Photo> photos;
    std::vector<Side> sides;  ///< in order of their first photo
    std::string key;
};

/// What the parts of a wall depend on.
std::string partsKey(const TubParts& parts, PartSettings settings)
{
    if (parts.parts.empty()) return {};
    std::vector<SettingField> fields;
    appendFields("parts", settings, fields);
    return "\nparts " + partsText(parts) + '\n' + settingsText(fields);
}

void setKeys(Wall& wall, const std::string& depends_on)
{
    wall.key = depends_on;
    for (Side& side : wall.sides) {
        std::string before = contentHash(depends_on);
        for (const size_t i : side.photos) {
            const KeptView& kept = wall.photos[i].kept;
            std::string one = before + '\n' + kept.photo + '\n';
            before = contentHash(one.append(contentHash(kept.meta)).append(kept.picture_hash));
            side.up_to.push_back(before);
        }
        for (size_t n = 0; n < side.photos.size(); ++n)
            wall.photos[side.photos[n]].read_with =
                side.up_to[std::min(n + kLaterAsked, side.photos.size() - 1)];
        wall.key += '\n' + side.up_to.back();
    }
    wall.key = contentHash(wall.key);
}

Wall wallOf(const WallTask& task, const SeasonStore& store)
{
    Wall wall;
    for (KeptView& kept : store.views(task.tub)) {
        if (kept.basis != task.basis) continue;
        auto facts = factsOf(kept);
        if (!facts) continue;
        auto side = std::find_if(wall.sides.begin(), wall.sides.end(),
                                 [&](const Side& one) { return one.id == kept.side; });
        if (side == wall.sides.end()) side = wall.sides.insert(wall.sides.end(), Side{kept.side, {}, {}});
        side->photos.push_back(wall.photos.size());
        wall.photos.push_back({std::move(kept), std::move(*facts), {}});
    }
    setKeys(wall, restsOn(task));
    return wall;
}

/// With most photos, the earliest of such.
size_t mostPhotographed(const Wall& wall)
{
    size_t most = 0;
    for (size_t s = 1; s < wall.sides.size(); ++s)
        if (wall.sides[s].photos.size() > wall.sides[most].photos.size()) most = s;
    return most;
}

/// What comes of reading a wall.
struct Read {
    std::vector<std::optional<Observation>> seen;  ///< one a photo of the wall; empty where it stays
    std::vector<WallRecord::Mark> marks;
    std::vector<WallRecord::Sum> sums;
    cv::Mat first_seen;  ///< of the side with most photos
};

class WallReader {
public:
    WallReader(const WallTask& task, const Wall& wall, const std::optional<WallRecord>& kept,
               const SeasonStore& store)
        : task_(task), wall_(wall), kept_(kept), store_(store)
    {
        read_.seen.resize(wall.photos.size());
    }

    bool isUpToDate(size_t photo) const
    {
        const KeptView& kept = wall_.photos[photo].kept;
        return kept.read_with == wall_.photos[photo].read_with && (kept.drawn || !task_.listed(kept.photo));
    }

    Read readAll()
    {
        const size_t most = mostPhotographed(wall_);
        for (size_t s = 0; s < wall_.sides.size(); ++s) readOne(wall_.sides[s], s == most);
        return std::move(read_);
    }

private:
    std::optional<WallView> viewOf(size_t photo) const
    {
        const Photo& one = wall_.photos[photo];
        return decodeWallView({store_.viewPicture(one.kept.photo, task_.tub), one.facts.view_meta});
    }

    /// The kept sum of a side's first photos, if all of them are as they were.
    const WallRecord::Sum* keptSum(const Side& side) const
    {
        if (kept_)
            for (const WallRecord::Sum& sum : kept_->sums)
                if (sum.side == side.id &&
                    std::find(side.up_to.begin(), side.up_to.end(), sum.key) != side.up_to.end())
                    return &sum;
        return nullptr;
    }

    /// The same, opened, if it is of photos before this one alone.
    WallSum sumBefore(const Side& side, size_t first) const
    {
        const WallRecord::Sum* kept = keptSum(side);
        const auto sum = kept ? decodeWallSum(kept->bytes) : std::nullopt;
        return sum && static_cast<size_t>(sum->photos) <= first ? *sum : WallSum{};
    }

    void readOne(const Side& side, bool most)
    {
        const size_t count = side.photos.size();
        size_t first = 0;
        while (first < count && isUpToDate(side.photos[first])) ++first;
        // Of the side whose growth map is drawn the last photo is read even so: its ages are wanted.
        if (first == count && most) first = count - 1;
        if (first == count) {
            if (const WallRecord::Sum* sum = keptSum(side)) read_.sums.push_back(*sum);
            return;
        }
        SidePhotos photos;
        photos.reference_size = wall_.photos[side.photos[0]].facts.place.reference_size;
        photos.count = count;
        photos.view = [&](size_t nth) { return viewOf(side.photos[nth]); };
        const SideReading done = readSide(photos, sumBefore(side, first), first, task_.roots,
                                          [&](size_t nth, const WallView& view, const WallReading& reading) {
                                              if (!task_.stopped()) take(side.photos[nth], view, reading);
                                          });
        if (const WallSum& sum = done.to_go_on; sum.photos > 0)
            read_.sums.push_back(
                {side.id, side.up_to[static_cast<size_t>(sum.photos) - 1], encodeWallSum(sum)});
        if (most) read_.first_seen = done.first_seen;
    }

    void take(size_t i, const WallView& view, const WallReading& reading)
    {
        const Photo& photo = wall_.photos[i];
        auto seen = store_.find(photo.kept.photo, task_.tub);
        if (!seen) return;
        setReading(*seen, view, reading);
        // The plan says where the cuttings stand on the side of the tub's first photo.
        const Photo& first = wall_.photos[0];
        WallView on_reference = view;
        if (photo.kept.side != first.kept.side) on_reference.to_reference.reset();
        setParts(*seen, on_reference, reading, first.facts.place.reference_size, task_.parts,
                 task_.part_settings);
        const bool drawn = task_.listed(photo.kept.photo) &&
                           task_.draw(ReadPhoto{photo.facts, view, reading, *seen, photo.kept.drawn});
        read_.marks.push_back({photo.kept.photo, photo.read_with, drawn});
        read_.seen[i] = std::move(*seen);
    }

    const WallTask& task_;
    const Wall& wall_;
    const std::optional<WallRecord>& kept_;
    const SeasonStore& store_;
    Read read_;
};

/// The fog on each photo, told from all photos of its side.
void setFog(Read& read, const Wall& wall, const SeasonStore& store)
{
    for (const Side& side : wall.sides) {
        std::vector<WallFog> fogs;
        std::vector<size_t> of_photo;
        for (const size_t i : side.photos) {
            if (!wall.photos[i].facts.fog) continue;
            fogs.push_back(*wall.photos[i].facts.fog);
            of_photo.push_back(i);
        }
        const auto condensation = condensationOf(fogs);
        for (size_t i = 0; i < of_photo.size(); ++i) {
            auto& seen = read.seen[of_photo[i]];
            const KeptView& kept = wall.photos[of_photo[i]].kept;
            auto now = seen ? seen : store.find(kept.photo, kept.tub);
            if (!now || now->condensation_percent == condensation[i]) continue;
            now->condensation_percent = condensation[i];
            seen = std::move(now);
        }
    }
}

RootAges agesOf(const Wall& wall, const Read& read)
{
    RootAges ages;
    const Side& most = wall.sides[mostPhotographed(wall)];
    for (const size_t i : most.photos)
        ages.photos.push_back({wall.photos[i].kept.photo, wall.photos[i].kept.date});
    ages.first_seen = read.first_seen;
    ages.unit_per_px = wall.photos[most.photos[0]].facts.unit_per_px;
    ages.in_mm = wall.photos[most.photos[0]].facts.in_mm;
    return ages;
}

WallRecord recordOf(const std::string& key, const std::string& rests_on, const RootAges& ages,
                    std::vector<WallRecord::Sum> sums)
{
    json photos = json::array();
    for (const RootAges::Photo& photo : ages.photos)
        photos.push_back({{"photo", photo.name}, {"date", photo.date}});
    const json meta = {{"photos", photos}, {"mm_per_px", ages.unit_per_px}, {"in_mm", ages.in_mm}};
    // File names of old systems may not be UTF-8.
    return {key, meta.dump(-1, ' ', false, json::error_handler_t::replace), pngBytes(ages.first_seen),
            std::move(sums), rests_on};
}

}  // namespace

std::string restsOn(const WallTask& task)
{
    return task.basis + partsKey(task.parts, task.part_settings);
}

bool readWall(const WallTask& task, SeasonStore& store)
{
    const Wall wall = wallOf(task, store);
    if (wall.photos.empty()) return false;
    const auto kept = store.wall(task.tub);
    WallReader reader(task, wall, kept, store);
    bool up_to_date = kept && kept->key == wall.key;
    for (size_t i = 0; i < wall.photos.size(); ++i) up_to_date = up_to_date && reader.isUpToDate(i);
    if (up_to_date) {
        if (kept->rests_on != restsOn(task)) store.putWallChecked(task.tub, restsOn(task));
        return false;
    }
    Read read = reader.readAll();
    if (task.stopped()) return false;
    setFog(read, wall, store);
    std::vector<Observation> seen;
    for (auto& one : read.seen)
        if (one) seen.push_back(std::move(*one));
    const RootAges ages = agesOf(wall, read);
    // Pictures first: a run that ends here draws them again.
    task.draw_ages(ages);
    store.putWall(task.tub, recordOf(wall.key, restsOn(task), ages, std::move(read.sums)), seen, read.marks);
    return true;
}

std::optional<RootAges> agesIn(const WallRecord& wall)
{
    const json meta = json::parse(wall.meta, nullptr, false);
    RootAges ages;
    try {
        ages.unit_per_px = meta.value("mm_per_px", 0.0);
        ages.in_mm = meta.value("in_mm", false);
        for (const json& photo : meta.at("photos"))
            ages.photos.push_back({photo.at("photo"), photo.at("date")});
    } catch (const json::exception&) {
        return std::nullopt;
    }
    if (ages.photos.empty()) return std::nullopt;
    ages.first_seen = pictureIn(wall.picture);
    if (ages.first_seen.type() != CV_16UC1) return std::nullopt;
    return ages;
}

std::vector<cv::Vec3b> ageColours(size_t dates)
{
    static const std::array<cv::Vec3d, 4> kStops{
        {{216, 98, 59}, {238, 168, 95}, {245, 227, 191}, {160, 246, 255}}};  // BGR
    std::vector<cv::Vec3b> colours;
    for (size_t i = 0; i < dates; ++i) {
        const double last = static_cast<double>(kStops.size() - 1);
        const double at = dates < 2 ? last : last * static_cast<double>(i) / static_cast<double>(dates - 1);
        const auto from = static_cast<size_t>(std::min(at, last - 1));
        const cv::Vec3d mixed =
            kStops[from] + (at - static_cast<double>(from)) * (kStops[from + 1] - kStops[from]);
        colours.emplace_back(cv::saturate_cast<uchar>(mixed[0]), cv::saturate_cast<uchar>(mixed[1]),
                             cv::saturate_cast<uchar>(mixed[2]));
    }
    return colours;
}

}  // namespace slipglass
