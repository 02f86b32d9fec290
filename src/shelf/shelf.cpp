#include "slipglass/shelf/shelf.h"

#include <unistd.h>

#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "../words/strict_json.h"
#include "care_form.h"
#include "given_here.h"
#include "json_in.h"
#include "named_here.h"
#include "pages.h"
#include "plan_form.h"
#include "season_folder.h"
#include "slipglass/error.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/report/label_sheet.h"
#include "slipglass/report/page_style.h"
#include "slipglass/serve/server.h"
#include "slipglass/shelf/qr.h"
#include "told_address.h"
#include "work.h"

namespace slipglass {

namespace fs = std::filesystem;
using Json = nlohmann::json;

namespace {

constexpr int kShownSide = 900;  // px of a photo that is asked about

Json problemJson(const Problem& problem, const Words& words)
{
    return {{"file", problem.file},
            {"reason", words.kept(problem.reason)},
            {"remedy", words.kept(problem.remedy)}};
}

/// What is kept of a path must hold wherever the next start is.
ShelfOptions withWholePath(ShelfOptions options)
{
    options.season = fs::absolute(options.season);
    return options;
}

/// A folder that cannot be written to is told before anything is served.
SeasonFolder writable(SeasonFolder folder)
{
    std::error_code failed;
    fs::create_directories(folder.photos(), failed);
    if (failed || access(folder.out.c_str(), W_OK | X_OK) != 0)
        throw Error(folder.out.string(), "cannot be written to",
                    "Give a folder of your own, or see who may write there");
    return folder;
}

}  // namespace

class Shelf::Served {
public:
    explicit Served(const ShelfOptions& options)
        : options_(withWholePath(options)),
          folder_(writable({options_.season})),
          work_(options_),
          given_(folder_, options_, work_),
          named_(folder_, options_, work_, given_),
          server_({options.port, options.lan, folder_.uploads()}, {},
                  [this](const Request& request) { return answer(request); }),
          told_(folder_, server_.address())
    {
        work_.begin();
    }

    std::string address() const { return server_.address(); }
    std::string invitation() { return server_.invitation(); }

private:
    Response answer(const Request& request)
    {
        try {
            if (request.method == "GET") return shown(request);
            if (request.method == "PUT" && request.path == "/photos") return photoSent(request);
            if (request.method == "POST") return done(request);
            return {405, "text/plain; charset=utf-8", "Not possible.", {}, {}};
        } catch (const Error& error) {
            return jsonResponse({{"error", error.what()}}, 422);
        } catch (const Json::exception&) {
            return jsonResponse({{"error", "The page sent something that cannot be read. Load it again."}},
                                400);
        }
    }

    Response shown(const Request& request)
    {
        if (request.path == "/") return {303, "text/plain", "", {}, {{"Location", output::kFirstPage}}};
        if (request.path == "/state") return jsonResponse(state(request));
        if (request.path == "/sent") return photoShown(request);
        if (request.path == "/shelf.js")
            return {200, "text/javascript; charset=utf-8", shelfScript(Words(given_.pages())), {}, {}};
        if (request.path == "/shelf.css") return {200, "text/css; charset=utf-8", shelfStyle(), {}, {}};
        if (request.path == "/icon.svg") return {200, "image/svg+xml", shelfIcon(), {}, {}};
        if (request.path == "/page.css") return {200, "text/css; charset=utf-8", pageStyle(), {}, {}};
        if (request.path == "/plan") return planPage(Words(given_.pages()));
        if (request.path == "/plan.json") return jsonResponse(given_.planShown());
        if (request.path == "/labels.pdf") return labels(request);
        Response page = pageOf(folder_.out, request.path.substr(1), Words(given_.pages()));
        // A cutting whose only photos turned out to be another's has no page any more.
        if (page.status == 404 && request.path.rfind("/report/cuttings/", 0) == 0 &&
            fs::path(request.path).extension() == ".html")
            return {303, "text/plain", "", {}, {{"Location", "../index.html"}}};
        return page;
    }

    Json state(const Request& request)
    {
        const Work::State now = work_.state();
        Json asked = Json::array(), found = Json::array(), problems = Json::array();
        for (const OfNoTub& one : now.of_no_tub) {
            Json likely = Json::array();
            for (const std::string& tub : one.likely) {
                const auto picture = now.pictures.find(tub);
                likely.push_back(
                    {{"tub", tub}, {"picture", picture == now.pictures.end() ? "" : picture->second}});
            }
            const bool own = ownPhoto(folder_, one.photo).has_value();
            asked.push_back({{"photo", one.photo}, {"likely", likely}, {"own", own}});
        }
        for (const KnownByGrains& one : now.by_grains)
            found.push_back({{"photo", one.photo}, {"tub", one.tub}});
        Json shared = Json::object();
        for (const auto& [tub, cuttings] : now.cuttings)
            if (cuttings.size() > 1) shared[tub] = cuttings;
        const Words words(given_.pages());
        for (const Problem& one : now.problems) problems.push_back(problemJson(one, words));
        return {{"round", now.round},
                {"busy", now.busy},
                {"done", now.done},
                {"of", now.of},
                {"seconds_left", now.seconds_left ? Json(*now.seconds_left) : Json()},
                {"failure", now.failure},
                {"asked", asked},
                {"by_grains", found},
                {"named", named_.lately()},
                {"set_aside", photosOfNoTub(folder_)},
                {"problems", problems},
                {"tubs", now.tubs},
                {"shared", shared},
                {"teach",
                 {{"photos", now.drawn_photos},
                  {"taught", fs::exists(folder_.out / output::kTaught)},
                  {"busy", now.learning},
                  {"says", now.lesson}}},
                {"today", isoDate(options_.today())},
                {"written", lately(given_.careText(), options_.today())},
                {"may_invite", options_.lan && request.from_this_computer}};
    }

    /// One of the season's own photos, reduced.
    Response photoShown(const Request& request) const
    {
        const auto name = request.query.find("photo");
        const auto path = name == request.query.end() ? std::nullopt : ownPhoto(folder_, name->second);
        if (!path) return {404, "text/plain; charset=utf-8", "Not here.", {}, {}};
        cv::Mat bgr = readPicture(*path, readFacts(*path, given_.photoLimits()), kShownSide).bgr;
        const double scale = static_cast<double>(kShownSide) / std::max(bgr.cols, bgr.rows);
        if (scale < 1) cv::resize(bgr, bgr, {}, scale, scale, cv::INTER_AREA);
        return {200, "image/jpeg", jpegBytes(bgr, 85), {}, {}};
    }

    Response photoSent(const Request& request)
    {
        const auto name = request.query.find("name"), day = request.query.find("day");
        const TakenIn in =
            takeIn(folder_, request.upload, name == request.query.end() ? "photo" : name->second,
                   day == request.query.end() ? std::nullopt : parseIsoDate(day->second), options_.today(),
                   given_.photoLimits());
        if (!in.had_it) work_.wake(Work::Given::photos);
        return jsonResponse({{"photo", in.photo}, {"had_it", in.had_it}});
    }

    Response done(const Request& request)
    {
        if (request.path == "/invitation" && request.from_this_computer && options_.lan) {
            const std::string address = server_.invitation();
            return jsonResponse({{"address", address}, {"svg", qrSvg(address)}});
        }
        const Error unreadable("The page", "sent something that cannot be read", "Load it again");
        if (isTooDeep(request.body)) throw unreadable;
        const Json body = request.body.empty() ? Json::object() : Json::parse(request.body);
        if (!body.is_object()) throw unreadable;
        if (request.path == "/tub/asked") return named_.asked(textIn(body, "photo"));
        if (request.path == "/tub") return named_.name(textIn(body, "photo"), textIn(body, "tub"));
        if (request.path == "/tub/undo") return named_.takeBack(textIn(body, "photo"));
        if (request.path == "/care") return given_.writeCare(eventIn(body, options_.today()));
        if (request.path == "/care/undo") return given_.takeBackCare(eventIn(body, options_.today()));
        if (request.path == "/correction") return given_.keepCorrection(request.body);
        if (request.path == "/correction/asked")
            return given_.savedOn({textIn(body, "photo"), textIn(body, "tub")});
        if (request.path == "/correction/undo")
            return given_.takeBackCorrection({textIn(body, "photo"), textIn(body, "tub")},
                                             textIn(body, "what"));
        if (request.path == "/teach") return given_.lesson(textIn(body, "what"));
        if (request.path == "/plan") return given_.keepPlan(body);
        if (request.path == "/plan/draw") return jsonResponse(drawnForm(body, given_.ownTypes()));
        if (request.path == "/tub-type") return given_.keepType(body);
        if (request.path == "/pages") return given_.keepPages(body);
        return {404, "text/plain; charset=utf-8", "Not here.", {}, {}};
    }

    Response labels(const Request& request) const
    {
        const std::string plan = given_.planText();
        if (plan.empty()) throw Error("The plan", "is empty", "Save the plan first, then print its labels");
        const auto paper = request.query.find("paper");
        const bool letter = paper != request.query.end() && paper->second == "letter";
        return {200,
                "application/pdf",
                labelSheetPdf(labelsOf(parsePlan(plan, "batch.csv", options_.today())),
                              letter ? Paper::us_letter : Paper::a4, {}),
                {},
                {}};
    }

    ShelfOptions options_;
    SeasonFolder folder_;
    Work work_;
    GivenHere given_;
    NamedHere named_;
    Server server_;
    ToldAddress told_;
};

Shelf::Shelf(const ShelfOptions& options) : served_(std::make_unique<Served>(options)) {}
Shelf::~Shelf() = default;

std::string Shelf::address() const
{
    return served_->address();
}

std::string Shelf::invitation()
{
    return served_->invitation();
}

}  // namespace slipglass
