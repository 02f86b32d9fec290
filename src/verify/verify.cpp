#include "slipglass/verify/verify.h"

#include <algorithm>
#include <map>
#include <opencv2/imgproc.hpp>
#include <set>

#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/picture_bytes.h"

namespace slipglass {

namespace {

namespace fs = std::filesystem;

std::string withoutExtension(const std::string& photo)
{
    return fs::path(photo).replace_extension().generic_string();
}

std::string lastPart(const std::string& name)
{
    return fs::path(name).filename().string();
}

/// Rows of observations.csv by what a truth may be called.
class Rows {
public:
    explicit Rows(const std::vector<Observation>& seen)
    {
        for (const Observation& row : seen) {
            const std::string stem = withoutExtension(row.photo);
            ++tubs_[row.photo];
            for (const std::string& name :
                 {stem, row.photo, stem + "." + row.tub, row.photo + "." + row.tub}) {
                by_name_[name].insert(&row);
                by_last_part_[lastPart(name)].insert(&row);
            }
        }
    }

    /// The row a truth speaks of: by its full name, else, where that leaves no doubt, by its last part, so
    /// that a folder more or less above the photos does not matter. Throws Error when there is none or
    /// several.
    const Observation& rowOf(const std::string& stem, const std::string& tub) const
    {
        for (const auto& [names, name] :
             {std::pair(&by_name_, stem), std::pair(&by_last_part_, lastPart(stem))}) {
            const auto at = names->find(name);
            if (at == names->end()) continue;
            const auto fitting = ofTub(at->second, tub);
            if (fitting.size() == 1) return *fitting.front();
            if (fitting.size() > 1)
                throw Error(
                    stem, "is the truth of " + std::to_string(fitting.size()) + " rows of observations.csv",
                    "Name it after the photo's folder too, or after photo and tub (NAME.TUB.truth.json)");
        }
        throw Error(stem, "is not in observations.csv", "Measure the photo it is the truth of");
    }

    /// Where the masks of a row can be: several tubs in one photo each have their own.
    std::vector<std::string> maskStems(const Observation& row) const
    {
        const std::string stem = safeStem(withoutExtension(row.photo)), whole = safeStem(row.photo);
        const std::string tub = safeFileName(row.tub);
        std::vector<std::string> stems{stem + "." + tub, whole + "." + tub};
        // The photo's own name comes first with one tub, and is no tub's with several.
        if (tubs_.at(row.photo) == 1) stems.insert(stems.begin(), {stem, whole});
        return stems;
    }

private:
    static std::vector<const Observation*> ofTub(const std::set<const Observation*>& rows,
                                                 const std::string& tub)
    {
        std::vector<const Observation*> fitting;
        for (const Observation* row : rows)
            if (rows.size() == 1 || tub.empty() || row->tub == tub) fitting.push_back(row);
        return fitting;
    }

    std::map<std::string, std::set<const Observation*>> by_name_, by_last_part_;
    std::map<std::string, int> tubs_;
};

/// Throws Error when there is no such picture or it cannot be read.
cv::Mat readMask(const fs::path& path)
{
    if (!fs::is_regular_file(path))
        throw Error(path.string(), "is missing", "Write both masks, NAME.roots.png and NAME.wall.png");
    cv::Mat grey = pictureFrom(path);
    if (grey.depth() == CV_16U) grey.convertTo(grey, CV_8U, 1.0 / 256);
    if (grey.channels() > 1)
        cv::cvtColor(grey, grey, grey.channels() == 4 ? cv::COLOR_BGRA2GRAY : cv::COLOR_BGR2GRAY);
    if (grey.empty())
        throw Error(path.string(), "cannot be read as a picture", "Save it as PNG, black and white");
    return grey > 127;
}

Masks readDrawn(const TruthFiles& files)
{
    Masks drawn;
    if (!files.roots.empty()) drawn.roots = readMask(files.roots);
    if (!files.wall.empty() && !files.roots.empty()) drawn.wall = readMask(files.wall);
    return drawn;
}

/// @param folder  of the whole output.
Masks readFound(const fs::path& folder, const std::vector<std::string>& stems)
{
    std::string stem = stems.front();
    for (const std::string& candidate : stems) {
        if (!fs::exists(folder / maskNames(candidate).roots)) continue;
        stem = candidate;
        break;
    }
    return {readMask(folder / maskNames(stem).roots), readMask(folder / maskNames(stem).wall)};
}

std::string sizeText(const cv::Mat& mask)
{
    return std::to_string(mask.cols) + " x " + std::to_string(mask.rows);
}

void requireOneSize(const std::string& stem, const Masks& drawn, const Masks& found)
{
    for (const cv::Mat* mask : {&drawn.wall, &found.roots, &found.wall})
        if (!mask->empty() && mask->size() != drawn.roots.size())
            throw Error(stem, "its masks are " + sizeText(drawn.roots) + " and " + sizeText(*mask) + " px",
                        "Draw truth on the upright photo in its full size");
}

class Comparison {
public:
    Comparison(const fs::path& measured, const Rows& rows, const VerifySettings& settings)
        : measured_(measured), rows_(rows), settings_(settings)
    {
    }

    /// Throws Error; `to` then holds what was known, the step that failed as its outcome.
    void run(const TruthFiles& files, PhotoAgreement& to, const Observation*& row) const
    {
        to.photo = files.stem;
        to.outcome = "broken truth";
        const Truth truth = files.json.empty() ? Truth{} : readTruth(files.json);
        to.tub = truth.tub;
        to.outcome = "not in csv";
        row = &rows_.rowOf(files.stem, truth.tub);
        if (to.tub.empty()) to.tub = row->tub;
        to.outcome = "retake";
        if (row->state == State::retake)
            throw Error(files.stem, "was not measured (retake)", "See problems.csv for why");
        to.outcome = "no mask";
        const Masks drawn = readDrawn(files);
        const Masks found = drawn.roots.empty() ? Masks{} : readFound(measured_, rows_.maskStems(*row));
        to.outcome = "other size";
        requireOneSize(files.stem, drawn, found);
        to = agreementOn(files.stem, truth, drawn, *row, found, settings_);
        if (to.outcome == "wrong place")
            throw Error(files.stem, "no wall was found where the truth has it", "Look at its overlay");
    }

private:
    fs::path measured_;
    const Rows& rows_;
    const VerifySettings& settings_;
};

}  // namespace

Verification verify(const fs::path& measured, const fs::path& truth, const VerifySettings& settings,
                    const std::vector<std::string>& tubs)
{
    const std::vector<Observation> seen = readObservations(measured / output::kObservations);
    const Rows rows(seen);
    const Comparison comparison(measured, rows, settings);
    const auto wanted = [&](const std::string& tub) {
        return tubs.empty() || std::find(tubs.begin(), tubs.end(), tub) != tubs.end();
    };

    Verification result;
    result.settings = settings;
    std::set<const Observation*> with_truth;
    for (const TruthFiles& files : listTruth(truth)) {
        PhotoAgreement photo;
        const Observation* row = nullptr;
        std::string problem;
        try {
            comparison.run(files, photo, row);
        } catch (const Error& error) {
            problem = error.what();
        }
        if (row != nullptr) with_truth.insert(row);
        if (!photo.tub.empty() && !wanted(photo.tub)) continue;
        if (!problem.empty()) result.problems.push_back(problem);
        result.photos.push_back(std::move(photo));
    }
    for (const Observation& row : seen)
        if (wanted(row.tub) && !with_truth.contains(&row)) ++result.photos_without_truth;
    return result;
}

}  // namespace slipglass
