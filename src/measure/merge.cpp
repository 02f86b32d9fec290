#include <algorithm>
#include <set>

#include "give_corrections.h"
#include "given_beside.h"
#include "shares.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/report/write_report.h"
#include "slipglass/share.h"
#include "slipglass/store/join_seasons.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;

struct OneShare {
    fs::path folder;
    ShareRecord record;
    Given given;
};

std::string nameOf(const OneShare& one)
{
    return "part " + std::to_string(one.record.share.nth) + " (" + one.folder.string() + ")";
}

OneShare open(const fs::path& folder)
{
    const SeasonStore store(folder / output::kSeason, SeasonStore::Use::read);
    const std::optional<Given> given = givenIn(store);
    const auto record = shareRecordOf(shareIn(store));
    if (!record || record->merged)
        throw Error(folder.string(), "holds no part of a season",
                    "Name folders that 'slipglass measure --part' wrote");
    if (!given || !record->done)
        throw Error(folder.string(), "was not measured to its end",
                    "Run 'slipglass measure --part " + std::to_string(record->share.nth) + "/" +
                        std::to_string(record->share.of) + "' on it again: it goes on where it was");
    return {folder, *record, *given};
}

/// By number; a folder given twice is there once.
std::vector<OneShare> openAll(const std::vector<fs::path>& folders)
{
    std::set<fs::path> once;
    std::vector<OneShare> all;
    for (const fs::path& folder : folders)
        if (once.insert(fs::weakly_canonical(folder)).second) all.push_back(open(folder));
    std::sort(all.begin(), all.end(),
              [](const OneShare& a, const OneShare& b) { return a.record.share.nth < b.record.share.nth; });
    return all;
}

std::string textIn(const std::optional<Given::File>& file)
{
    return file ? file->text : std::string();
}

/// In what a share differs from another; empty where they belong together.
std::string differsIn(const OneShare& one, const OneShare& first)
{
    const ShareRecord &a = one.record, &b = first.record;
    if (a.share.of != b.share.of)
        return "is one of " + std::to_string(a.share.of) + " parts, but " + nameOf(first) + " is one of " +
               std::to_string(b.share.of);
    const std::string than = " than " + nameOf(first);
    if (a.program != b.program) return "was measured by another version of slipglass" + than;
    if (a.settings != b.settings || textIn(one.given.settings) != textIn(first.given.settings))
        return "was measured with other settings" + than;
    if (textIn(one.given.plan) != textIn(first.given.plan)) return "was measured with another plan" + than;
    if (textIn(one.given.care) != textIn(first.given.care))
        return "was measured with another care log" + than;
    if (textIn(one.given.corrections) != textIn(first.given.corrections))
        return "was measured with other corrections" + than;
    if (a.photos != b.photos) return "was measured from other photos, or another list of tubs," + than;
    return {};
}

void checkTogether(const std::vector<OneShare>& all)
{
    if (all.empty()) throw Error("merge", "no part is named", "Name the folders of all parts");
    const OneShare& first = all.front();
    for (const OneShare& one : all)
        if (const std::string differs = differsIn(one, first); !differs.empty())
            throw Error(nameOf(one), differs, "Measure all parts by the same version from the same files");
    std::set<int> there;
    for (const OneShare& one : all)
        if (!there.insert(one.record.share.nth).second)
            throw Error(nameOf(one), "is given in two folders", "Name one of them");
    std::string missing;
    int count = 0;
    for (int nth = 1; nth <= first.record.share.of; ++nth)
        if (!there.count(nth) && count++ < 20) missing += (missing.empty() ? "" : ", ") + std::to_string(nth);
    if (count > 0)
        throw Error("merge",
                    "of " + std::to_string(first.record.share.of) + " parts " + std::to_string(count) +
                        (count == 1 ? " is missing: " : " are missing: ") + missing +
                        (count > 20 ? ", ..." : ""),
                    "Name the folders of all parts");
}

void checkOut(const fs::path& out)
{
    if (!fs::exists(out / output::kSeason)) return;
    const auto record = shareRecordOf(shareIn(SeasonStore(out / output::kSeason, SeasonStore::Use::read)));
    if (!record || !record->merged)
        throw Error(out.string(), "holds a season that was not merged, or was measured since",
                    "Choose another folder");
}

/// The same file in another folder: without its bytes a second time where the disk can do that.
void bring(const fs::path& from, const fs::path& to)
{
    std::error_code none;
    if (fs::equivalent(from, to, none)) return;
    fs::create_directories(to.parent_path());
    fs::remove(to, none);
    fs::create_hard_link(from, to, none);
    if (none) fs::copy_file(from, to);
}

void bringPictures(const fs::path& from, const fs::path& out)
{
    for (const fs::path& part : {fs::path(output::kMasks), fs::path(output::kOverlays),
                                 fs::path(output::kGrowth), fs::path(output::kReport) / "pictures"}) {
        if (!fs::exists(from / part)) continue;
        for (const auto& entry : fs::recursive_directory_iterator(from / part))
            if (entry.is_regular_file()) bring(entry.path(), out / entry.path().lexically_relative(from));
    }
    if (fs::exists(from / output::kTaught)) bring(from / output::kTaught, out / output::kTaught);
}

/// Of all shares: what holds of each photo is kept with it; this is about the rest.
Given givenTogether(const std::vector<OneShare>& all, const CorrectionListing& corrections,
                    const SeasonStore& store)
{
    Given given = all.front().given;
    std::vector<Problem> problems;
    std::set<std::vector<std::string>> told;
    for (const OneShare& one : all) {
        given.today = std::max(given.today, one.given.today);
        for (const Problem& problem : one.given.problems)
            if (told.insert({problem.file, problem.tub, problem.state, problem.reason}).second)
                problems.push_back(problem);
    }
    if (given.corrections) dropPlaced(problems, corrections, given.corrections->name, store);
    given.problems = std::move(problems);
    ShareRecord merged;
    merged.merged = true;
    given.share = textOf(merged);
    return given;
}

}  // namespace

Merged mergeShares(const std::vector<fs::path>& folders, const fs::path& out)
{
    const std::vector<OneShare> all = openAll(folders);
    checkTogether(all);
    checkOut(out);
    std::vector<fs::path> files;
    files.reserve(all.size());
    for (const OneShare& one : all) files.push_back(one.folder / output::kSeason);
    const fs::path joined = out / (std::string(output::kSeason) + ".part");
    joinSeasons(files, joined);
    const Given& first = all.front().given;
    const CorrectionListing corrections =
        first.corrections ? correctionsIn(*first.corrections) : CorrectionListing{};
    {
        SeasonStore store(joined);
        putGiven(store, givenTogether(all, corrections, store));
    }
    for (const OneShare& one : all) bringPictures(one.folder, out);
    fs::rename(joined, out / output::kSeason);

    Merged merged;
    SeasonStore store(out / output::kSeason);
    merged.season = seasonIn(store);
    keepWorkedOut(store);
    merged.season.drawn = drawnOn(corrections, merged.season.observations);
    merged.photos = store.photos().size();
    writeReport(merged.season, out);
    return merged;
}

}  // namespace slipglass
