#include "given_here.h"

#include "care_form.h"
#include "diary.h"
#include "held.h"
#include "json_in.h"
#include "own_corrections.h"
#include "plan_form.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/observe.h"
#include "slipglass/season/plan.h"
#include "slipglass/store/content_hash.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace fs = std::filesystem;
using Json = nlohmann::json;

namespace {

/// All that they say together, as a page has it; null: nothing.
Json drawnIn(const std::vector<CorrectionFile>& files)
{
    Correction all;
    for (const CorrectionFile& one : files) all = together(all, one.correction);
    return all.empty() ? Json() : Json::parse(correctionText(all));
}

}  // namespace

Response jsonResponse(const Json& value, int status)
{
    return {status, "application/json", value.dump(-1, ' ', false, Json::error_handler_t::replace), {}, {}};
}

GivenHere::GivenHere(const SeasonFolder& folder, const ShelfOptions& options, Work& work)
    : folder_(folder), options_(options), work_(work)
{
}

std::string GivenHere::planText() const
{
    return heldText(folder_.plan(), work_.kept().plan, work_.waits(Work::Given::plan));
}
std::string GivenHere::careText() const
{
    return heldText(folder_.care(), work_.kept().care, work_.waits(Work::Given::care));
}
std::string GivenHere::settingsText() const
{
    return heldText(folder_.settings(), work_.kept().settings, work_.waits(Work::Given::settings));
}

std::vector<TubType> GivenHere::ownTypes() const
{
    const std::string settings = settingsText();
    return settings.empty() ? std::vector<TubType>{} : readTubTypes(settings, "settings.json");
}

PageSettings GivenHere::pages() const
{
    try {
        const std::string text = settingsText();
        return text.empty() ? PageSettings{} : settingsFrom(text, "settings.json").pages;
    } catch (const Error&) {
        return work_.kept().pages;  // a file that cannot be read is told where it is measured with
    }
}

PhotoLimits GivenHere::photoLimits() const
{
    try {
        const std::string text = settingsText();
        return text.empty() ? PhotoLimits{} : settingsFrom(text, "settings.json").photos;
    } catch (const Error&) {
        return {};  // likewise
    }
}

Json GivenHere::planShown() const
{
    const std::string plan = planText();
    Json form = planForm(plan, ownTypes());
    form["version"] = contentHash(plan);
    form["saved"] = !plan.empty();
    const PageSettings read = pages();
    Json known = Json::array();
    for (const Language& one : languages()) known.push_back({{"code", one.code}, {"name", one.name}});
    form["pages"] = {{"language", read.language}, {"units", read.units}, {"languages", known}};
    // A plan that named some of the tubs only would leave the others' labels without a meaning.
    if (plan.empty())
        for (const std::string& tub : work_.state().tubs) form["rows"].push_back({{"tub", tub}});
    return form;
}

Response GivenHere::keepPlan(const Json& form)
{
    const std::lock_guard lock(writing_);
    const std::string version = contentHash(planText());
    if (textIn(form, "version") != version)
        return jsonResponse(
            {{"error",
              "The plan has been changed elsewhere since you opened it. Save again to put yours "
              "in its place, or load this page again to see the other."},
             {"version", version}},
            409);
    const std::string plan = planIn(form, options_.today());
    const std::vector<TubType> types = ownTypes();
    for (const PlannedCutting& cutting : parsePlan(plan, "batch.csv", options_.today()).cuttings)
        if (!cutting.tub_type.empty()) tubType(cutting.tub_type, types);
    writeFile(folder_.plan(), plan);
    work_.wake(Work::Given::plan);
    return jsonResponse({{"version", contentHash(plan)}});
}

Response GivenHere::keepType(const Json& type)
{
    const std::lock_guard lock(writing_);
    writeFile(folder_.settings(), withTubType(settingsText(), type));
    work_.wake(Work::Given::settings);
    return jsonResponse(planShown());
}

Response GivenHere::keepPages(const Json& body)
{
    const std::lock_guard lock(writing_);
    const std::string with = withPages(settingsText(), textIn(body, "language"), textIn(body, "units"));
    settingsFrom(with, "settings.json");  // said now if it names a language that there is none of
    writeFile(folder_.settings(), with);
    work_.wake(Work::Given::settings);
    return jsonResponse(Json::object());
}

Response GivenHere::writeCare(const CareEvent& event)
{
    const std::lock_guard lock(writing_);
    writeFile(folder_.care(), withRow(careText(), event));
    work_.wake(Work::Given::care);
    return jsonResponse(eventJson(event));
}

Response GivenHere::takeBackCare(const CareEvent& event)
{
    const std::lock_guard lock(writing_);
    const auto without = withoutRow(careText(), event);
    if (!without) throw Error("The care log", "has no such row any more", "Load the page again");
    writeFile(folder_.care(), *without);
    work_.wake(Work::Given::care);
    return jsonResponse(eventJson(event));
}

void GivenHere::photoRenamed(const PhotoAndTub& before, const std::string& now, const std::string& tub)
{
    const std::lock_guard lock(writing_);
    renamed_.erase(now);
    renamed_[before.first] = {now, tub};
    bringCorrections(folder_, work_.kept());
    if (followName(folder_, before, now, tub)) work_.wake(Work::Given::corrections);
}

Response GivenHere::keepCorrection(const std::string& drawn)
{
    std::string text = drawn;
    Correction correction = parseCorrection(text, "The drawing");
    if (correction.photo.empty() || correction.tub.empty() || correction.empty())
        throw Error("The drawing", "says nothing of any photo", "Draw again");
    const std::lock_guard lock(writing_);
    const auto [photo, tub] = asNow({correction.photo, correction.tub});
    if (photo != correction.photo) {
        text = correctionOf(text, photo, tub);
        correction = parseCorrection(text, "The drawing");
    }
    bringCorrections(folder_, work_.kept());
    const std::string stem = safeFileName(fs::path(correction.photo).stem().string());
    fs::path file = folder_.corrections() / (stem + ".json");
    for (int n = 2; fs::exists(file); ++n)
        file = folder_.corrections() / (stem + " (" + std::to_string(n) + ").json");
    writeFile(file, text);
    work_.wake(Work::Given::corrections);
    return jsonResponse({{"file", file.filename().string()}, {"round", work_.state().round}});
}

PhotoAndTub GivenHere::asNow(PhotoAndTub place) const
{
    for (auto now = renamed_.find(place.first); now != renamed_.end(); now = renamed_.find(place.first))
        place = {now->second.photo, now->second.tub.empty() ? place.second : now->second.tub};
    return place;
}

std::vector<CorrectionFile> GivenHere::saved(const PhotoAndTub& place)
{
    bringCorrections(folder_, work_.kept());
    const PhotoAndTub now = asNow(place);
    auto files = correctionsOf(folder_, now, work_.tubsOn(now.first).size() < 2);
    if (files.empty()) throw Error("What was saved", "is not there any more", "Load the page again");
    return files;
}

Response GivenHere::savedOn(const PhotoAndTub& place)
{
    const std::lock_guard lock(writing_);
    const auto files = saved(place);
    return jsonResponse({{"last", drawnIn({files.back()})}, {"all", drawnIn(files)}});
}

Response GivenHere::takeBackCorrection(const PhotoAndTub& place, const std::string& what)
{
    if (what != "last" && what != "all")
        throw Error("The page", "asks for something that cannot be taken back", "Load it again");
    const std::lock_guard lock(writing_);
    auto files = saved(place);
    const std::string file = files.back().name;
    do {
        takeBack(folder_, files.back());
        files.pop_back();
    } while (what == "all" && !files.empty());
    work_.wake(Work::Given::corrections);
    return jsonResponse({{"drawn", drawnIn(files)}, {"file", file}, {"round", work_.state().round}});
}

Response GivenHere::lesson(const std::string& what)
{
    if (what != "teach" && what != "forget")
        throw Error("The page", "asks for a lesson that there is none of", "Load it again");
    if (what == "teach") {
        const std::lock_guard lock(writing_);
        bringCorrections(folder_, work_.kept());
        if (!fs::exists(folder_.corrections()))
            throw Error("Teaching", "needs strokes, and none are drawn yet",
                        "Draw what is root on two photos or more");
        work_.wake(Work::Given::corrections);
    }
    work_.wake(what == "teach" ? Work::Lesson::teach : Work::Lesson::forget);
    return jsonResponse(Json::object());
}

}  // namespace slipglass
