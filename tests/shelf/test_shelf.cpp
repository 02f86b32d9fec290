// A season served as a browser sees it: photos go in, a tub is named, care is written and taken back.
#include "slipglass/shelf/shelf.h"

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <nlohmann/json.hpp>

#include "../serve/client.h"
#include "../support/samples.h"
#include "slipglass/error.h"
#include "slipglass/measure.h"
#include "slipglass/shelf/qr.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

class Season {
public:
    Season()
    {
        fs::create_directories(scratch / "season");
        open();
    }
    void open()
    {
        ShelfOptions options;
        options.season = scratch / "season";
        options.threads = 2;
        options.today = [] { return *parseIsoDate("2026-04-01"); };
        shelf = std::make_unique<Shelf>(options);
        const std::string address = shelf->address();
        key_ = test::keyIn(address);
        port_ = std::stoi(address.substr(std::string("http://127.0.0.1:").size()));
    }
    test::Answer ask(const std::string& method, const std::string& path, const std::string& body = "",
                     const std::string& type = "application/json") const
    {
        const std::string host = "127.0.0.1:" + std::to_string(port_);
        std::string head =
            method + " /" + key_ + "/" + path + " HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n";
        if (method != "GET")
            head += "Origin: http://" + host + "\r\nContent-Type: " + type +
                    "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n";
        test::Line line(port_);
        line.send(head + "\r\n" + body);
        return test::answerIn(line.rest());
    }
    test::Answer send(const std::string& sample, const std::string& name) const
    {
        return ask("PUT", "photos?name=" + name, test::readBytes(test::samplePhoto(sample)), "image/jpeg");
    }
    Json state() const { return Json::parse(ask("GET", "state").body); }
    /// When all that was given has been measured.
    Json settled() const
    {
        for (int tries = 0; tries < 1500; ++tries) {
            const Json now = state();
            if (!now.at("busy").get<bool>()) return now;
            std::this_thread::sleep_for(std::chrono::milliseconds(100));
        }
        ADD_FAILURE() << "never ends";
        return state();
    }
    std::string file(const std::string& name) const { return test::readBytes(scratch / ("season/" + name)); }

    test::ScratchFolder scratch;
    std::unique_ptr<Shelf> shelf;

private:
    std::string key_;
    int port_ = 0;
};

TEST(Shelf, BeginsWithAPageThatTakesPhotos)
{
    const Season season;
    EXPECT_EQ(season.settled().at("failure"), "");
    const test::Answer first = season.ask("GET", "");
    EXPECT_EQ(first.status, 303);
    EXPECT_EQ(first.headers.at("location"), "report/index.html");
    const test::Answer page = season.ask("GET", "report/index.html");
    EXPECT_EQ(page.status, 200);
    EXPECT_NE(page.body.find("The first photos"), std::string::npos);
    EXPECT_NE(page.body.find("<script src=\"../shelf.js\">"), std::string::npos);
    EXPECT_NE(page.headers.at("content-security-policy").find("script-src 'self'"), std::string::npos);
    EXPECT_EQ(season.ask("GET", "shelf.js").headers.at("content-type"), "text/javascript; charset=utf-8");
}

TEST(Shelf, IsReadInTheLanguageThatWasChosen)
{
    Season season;
    season.settled();
    EXPECT_EQ(season.ask("GET", "shelf.js").body.find("shelfWords = "), std::string::npos);
    const Json offered = Json::parse(season.ask("GET", "plan.json").body).at("pages");
    EXPECT_EQ(offered.at("language"), "en");
    EXPECT_EQ(offered.at("languages").size(), 3U);
    EXPECT_EQ(season.ask("POST", "pages", R"({"language": "de", "units": "inch"})").status, 200);
    EXPECT_NE(season.file("settings.json").find("\"language\": \"de\""), std::string::npos);
    const auto german = [&] {
        const std::string plan = season.ask("GET", "plan").body;
        EXPECT_NE(plan.find("<html lang=\"de\">"), std::string::npos);
        EXPECT_NE(plan.find("Plan und Etiketten"), std::string::npos);
        EXPECT_EQ(plan.find("{{"), std::string::npos);
        EXPECT_NE(season.ask("GET", "shelf.js").body.find("\"Take a photo\":\"Foto machen\""),
                  std::string::npos);
    };
    german();
    EXPECT_EQ(season.ask("POST", "pages", R"({"language": "xx"})").status, 422);
    EXPECT_EQ(season.send("T02_2026-01-12", "T02_2026-01-12.jpg").status, 200);
    season.settled();
    EXPECT_NE(season.file("report/index.html").find("Stecklingssaison"), std::string::npos);
    season.shelf.reset();
    season.open();  // and tomorrow
    german();
}

TEST(Shelf, MeasuresWhatIsSentAndAsksWhichTubAStrangerIs)
{
    Season season;
    EXPECT_EQ(season.send("T02_2026-01-12", "T02_2026-01-12.jpg").status, 200);
    EXPECT_EQ(season.send("T02_2026-01-20", "IMG_20260120_093010.jpg").status, 200);
    EXPECT_EQ(season.send("T04_2026-01-15", "IMG_20260115_080000.jpg").status, 200);
    const test::Answer again = season.send("T02_2026-01-12", "copy.jpg");
    EXPECT_TRUE(Json::parse(again.body).at("had_it").get<bool>());
    const test::Answer refused = season.ask("PUT", "photos?name=notes.jpg", "no picture", "image/jpeg");
    EXPECT_EQ(refused.status, 422);
    EXPECT_EQ(Json::parse(refused.body).at("error").get<std::string>().substr(0, 9), "notes.jpg");

    Json state = season.settled();
    ASSERT_EQ(state.at("by_grains").size(), 1U);
    EXPECT_EQ(state.at("by_grains")[0], (Json{{"photo", "IMG_20260120_093010.jpg"}, {"tub", "T02"}}));
    ASSERT_EQ(state.at("asked").size(), 1U);
    EXPECT_EQ(state.at("asked")[0].at("photo"), "IMG_20260115_080000.jpg");
    EXPECT_EQ(season.ask("GET", "sent?photo=IMG_20260115_080000.jpg").headers.at("content-type"),
              "image/jpeg");

    EXPECT_EQ(season.ask("POST", "tub", R"({"photo": "IMG_20260115_080000.jpg", "tub": "../x"})").status,
              422);
    const test::Answer named =
        season.ask("POST", "tub", R"({"photo": "IMG_20260115_080000.jpg", "tub": "T04"})");
    EXPECT_EQ(Json::parse(named.body).at("photo"), "T04_2026-01-15_IMG_20260115_080000.jpg");
    state = season.settled();
    EXPECT_TRUE(state.at("asked").empty());
    EXPECT_EQ(state.at("tubs"), (Json{"T02", "T04"}));
    const test::Answer page = season.ask("GET", "report/cuttings/T04.html");
    EXPECT_EQ(page.status, 200);
    EXPECT_NE(page.body.find("<script src=\"../../shelf.js\">"), std::string::npos);
    EXPECT_EQ(page.body.find("http-equiv"), std::string::npos);
    const std::string policy = page.headers.at("content-security-policy");
    EXPECT_NE(policy.find("script-src 'self' 'sha256-"), std::string::npos) << policy;
    EXPECT_NE(policy.find("connect-src 'self'"), std::string::npos) << policy;

    // A kill now loses nothing; who opens it again finds all of it.
    season.shelf.reset();
    season.open();
    state = season.settled();
    EXPECT_EQ(state.at("tubs"), (Json{"T02", "T04"}));
}

TEST(Shelf, WhichTubAPhotoShowsCanBeSaidWhateverToldItAndTakenBack)
{
    Season season;
    for (const std::string photo : {"T02_2026-01-12", "T02_2026-01-20", "T03_2026-01-15"})
        season.send(photo, photo + ".jpg");
    season.settled();
    const auto say = [&](const std::string& photo, const std::string& tub) {
        const test::Answer answer = season.ask("POST", "tub", Json{{"photo", photo}, {"tub", tub}}.dump());
        return answer.status == 200 ? Json::parse(answer.body).at("photo").get<std::string>() : answer.body;
    };
    const auto takeBack = [&](const std::string& photo) {
        return season.ask("POST", "tub/undo", Json{{"photo", photo}}.dump()).status;
    };
    const auto corrected = [&] { return Json::parse(season.file("corrections/T02_2026-01-20.json")); };
    season.ask("POST", "correction",
               R"({"schema": 1, "photo": "T02_2026-01-20.jpg", "tub": "T02", "water_line": []})");
    season.settled();
    EXPECT_EQ(season.ask("POST", "tub/asked", R"({"photo": "T02_2026-01-20.jpg"})").status, 200);
    EXPECT_EQ(season.ask("POST", "tub/asked", R"({"photo": "elsewhere.jpg"})").status, 422);
    EXPECT_EQ(takeBack("T02_2026-01-20.jpg"), 422) << "nothing said";

    EXPECT_EQ(say("T02_2026-01-20.jpg", "T03"), "T03_2026-01-20.jpg");
    EXPECT_EQ(season.settled().at("named"),
              Json::parse(R"([{"photo": "T03_2026-01-20.jpg", "tub": "T03", "tub_before": "T02"}])"));
    // What was drawn goes with the photo, also what is sent from a page of before.
    EXPECT_EQ(corrected().at("photo"), "T03_2026-01-20.jpg");
    EXPECT_EQ(corrected().at("tub"), "T03");
    EXPECT_NE(season.file("observations.csv").find("T03_2026-01-20.jpg,T03,2026-01-20"), std::string::npos)
        << season.file("observations.csv");
    EXPECT_NE(season.file("observations.csv").find("water line set by hand"), std::string::npos);
    season.ask("POST", "correction",
               R"({"schema": 1, "photo": "T02_2026-01-20.jpg", "tub": "T02", "water_line": []})");
    EXPECT_NE(season.file("corrections/T03_2026-01-20.json").find("\"T03\""), std::string::npos);

    EXPECT_EQ(say("T03_2026-01-20.jpg", "no-tub"), "no-tub_2026-01-20.jpg");
    Json state = season.settled();
    EXPECT_EQ(state.at("set_aside"), Json{"no-tub_2026-01-20.jpg"});
    EXPECT_EQ(season.file("observations.csv").find("2026-01-20"), std::string::npos);
    EXPECT_TRUE(state.at("problems").empty()) << state.at("problems");
    EXPECT_EQ(takeBack("no-tub_2026-01-20.jpg"), 200);
    EXPECT_EQ(takeBack("T03_2026-01-20.jpg"), 200);
    state = season.settled();
    EXPECT_TRUE(state.at("named").empty());
    EXPECT_EQ(corrected().at("photo"), "T02_2026-01-20.jpg");
    EXPECT_EQ(corrected().at("tub"), "T02");
    EXPECT_NE(season.file("observations.csv").find("water line set by hand"), std::string::npos);
    EXPECT_EQ(state.at("tubs"), (Json{"T02", "T03"}));

    // A tub that has no photo any more has no page.
    EXPECT_EQ(season.ask("GET", "report/cuttings/T03.html").status, 200);
    EXPECT_EQ(say("T03_2026-01-15.jpg", "T02"), "T02_2026-01-15.jpg");
    EXPECT_EQ(season.settled().at("tubs"), Json{"T02"});
    const test::Answer page = season.ask("GET", "report/cuttings/T03.html");
    EXPECT_EQ(page.status, 303);
    EXPECT_EQ(page.headers.count("location"), 1U);
}

TEST(Shelf, WritesDownWhatWasDoneAndTakesItBack)
{
    const Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    const test::Answer written = season.ask(
        "POST", "care", R"({"tub": "T02", "what": "watered", "amount_ml": "150", "note": "dry, pale"})");
    EXPECT_EQ(written.status, 200);
    EXPECT_EQ(season.file("care.csv"),
              "date,tub,what,amount_ml,note\r\n2026-04-01,T02,watered,150,\"dry, pale\"\r\n");
    season.settled();
    EXPECT_NE(season.file("season.json").find("dry, pale"), std::string::npos);
    EXPECT_EQ(season.ask("POST", "care", R"({"tub": "T02", "what": "sung to"})").status, 422);
    const std::string deep = std::string(200'000, '[') + std::string(200'000, ']');
    EXPECT_EQ(season.ask("POST", "care", R"({"tub": )" + deep + "}").status, 422) << "and goes on";
    EXPECT_EQ(season.ask("POST", "care/undo", written.body).status, 200);
    EXPECT_EQ(season.ask("POST", "care/undo", written.body).status, 422) << "it is gone";
    season.settled();
    EXPECT_EQ(season.file("season.json").find("dry, pale"), std::string::npos);
}

/// Ends the shelf, and leaves the season as `measure --care` from another folder does.
void giveCareFromElsewhere(Season& season)
{
    MeasureOptions run;
    run.photos = {season.scratch / "season/photos"};
    run.out = season.scratch / "season";
    run.care = season.scratch.write("elsewhere.csv", "date,tub,what\n2026-01-12,T02,watered\n");
    run.today = *parseIsoDate("2026-04-01");
    season.shelf.reset();
    measure(run, {});
}

TEST(Shelf, ACareLogFromElsewhereGoesOnWithEveryTick)
{
    Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    giveCareFromElsewhere(season);
    season.open();
    // The second comes before a run has read the first.
    EXPECT_EQ(season.ask("POST", "care", R"({"tub": "T02", "what": "tipped-out"})").status, 200);
    EXPECT_EQ(season.ask("POST", "care", R"({"tub": "T02", "what": "moved"})").status, 200);
    const std::string all =
        "date,tub,what\r\n2026-01-12,T02,watered\r\n2026-04-01,T02,tipped-out\r\n2026-04-01,T02,moved\r\n";
    EXPECT_EQ(season.file("care.csv"), all);
    Json written = season.state().at("written");
    ASSERT_EQ(written.size(), 2U) << "not that of January";
    EXPECT_EQ(written[0].at("what"), "moved");
    season.settled();
    EXPECT_NE(season.file("season.json").find("\"moved\""), std::string::npos);
    EXPECT_TRUE(fs::is_empty(season.scratch / "season/.sent")) << "nothing waits any more";
}

TEST(Shelf, WhatWaitedWhenItWasKilledIsReadAtTheNextStart)
{
    Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    giveCareFromElsewhere(season);
    // Answered, and killed before a run has read it.
    season.scratch.write("season/care.csv", "date,tub,what\n2026-01-12,T02,moved\n");
    season.scratch.write("season/.sent/waits-care", "");
    season.open();
    season.settled();
    EXPECT_NE(season.file("season.json").find("\"moved\""), std::string::npos);
}

TEST(Shelf, KeepsAnyNoteAsItIs)
{
    const Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    for (const std::string note : {"=1+1", "two\nlines", "\"quoted\", dry", "Möhre 🌱 <b>", "a;b\tc"}) {
        const Json row{{"tub", "T02"}, {"what", "watered"}, {"note", note}};
        const test::Answer written = season.ask("POST", "care", row.dump());
        ASSERT_EQ(written.status, 200) << written.body;
        EXPECT_EQ(Json::parse(written.body).at("note"), note);
        EXPECT_EQ(season.state().at("written")[0].at("note"), note);
    }
    season.settled();
    const std::string page = season.ask("GET", "report/cuttings/T02.html").body;
    EXPECT_NE(page.find("Möhre 🌱 &lt;b&gt;"), std::string::npos);
    for (Json written = season.state().at("written"); !written.empty();
         written = season.state().at("written"))
        ASSERT_EQ(season.ask("POST", "care/undo", written[0].dump()).status, 200) << written[0];
}

TEST(Shelf, CareIsOfADayThatHasCome)
{
    const Season season;
    EXPECT_EQ(season.ask("POST", "care", R"({"tub": "T02", "what": "watered", "date": "2026-03-31"})").status,
              200);
    EXPECT_NE(season.file("care.csv").find("2026-03-31,T02,watered"), std::string::npos);
    for (const std::string date : {"2026-04-02", "soon", "1926-01-01"})
        EXPECT_EQ(season.ask("POST", "care", Json{{"tub", "T02"}, {"what", "watered"}, {"date", date}}.dump())
                      .status,
                  422)
            << date;
}

TEST(Shelf, APlanThatAnotherHasChangedIsNotOverwrittenUnasked)
{
    const Season season;
    season.settled();
    const Json mine = Json::parse(season.ask("GET", "plan.json").body);
    const auto save = [&](const Json& version, const std::string& tub) {
        return season.ask(
            "POST", "plan",
            Json{{"version", version}, {"columns", {"tub"}}, {"rows", {{{"tub", tub}}}}}.dump());
    };
    EXPECT_EQ(save(mine.at("version"), "T01").status, 200);
    const test::Answer late = save(mine.at("version"), "T02");
    EXPECT_EQ(late.status, 409);
    EXPECT_EQ(season.file("batch.csv"), "tub\r\nT01\r\n");
    EXPECT_EQ(save(Json::parse(late.body).at("version"), "T02").status, 200);
    EXPECT_EQ(season.file("batch.csv"), "tub\r\nT02\r\n");
}

TEST(Shelf, SaysAtOnceWhatAFolderLacks)
{
    const auto failure = [](ShelfOptions options) -> std::string {
        try {
            const Shelf shelf(options);
            return "";
        } catch (const Error& error) {
            return error.what();
        }
    };
    const test::ScratchFolder scratch;
    ShelfOptions options;
    options.season = scratch / "season";
    {
        const Shelf first(options);
        EXPECT_NE(failure(options).find("in use by another slipglass"), std::string::npos);
        ShelfOptions other;
        other.season = scratch / "other";
        other.port = std::stoi(first.address().substr(std::string("http://127.0.0.1:").size()));
        EXPECT_EQ(failure(other).substr(0, 5), "port ");
    }
    options.season = scratch.write("a-file", "");
    EXPECT_NE(failure(options).find("cannot be written to"), std::string::npos);
    options.season = scratch.write("later/season.db", "no season").parent_path();
    EXPECT_NE(failure(options).find("season.db"), std::string::npos);
}

TEST(Shelf, TellsWhereItIsToItsOwnUserAloneWhileItRuns)
{
    Season season;
    const fs::path folder = season.scratch / "season", file = folder / ".running";
    EXPECT_EQ(runningShelf(folder), season.shelf->address());
    EXPECT_EQ(fs::status(file).permissions(), fs::perms::owner_read | fs::perms::owner_write);
    EXPECT_GE(season.ask("GET", ".running").status, 400);

    const std::string told = test::readBytes(file);
    const auto rewritten = [&](const std::string& key, const Json& value) {
        Json other = Json::parse(told);
        other[key] = value;
        season.scratch.write("season/.running", other.dump());
        fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
        return runningShelf(folder);
    };
    EXPECT_TRUE(rewritten("process", getpid()).has_value());
    EXPECT_FALSE(rewritten("computer", "another").has_value());
    const pid_t gone = fork();
    if (gone == 0) _exit(0);
    waitpid(gone, nullptr, 0);
    EXPECT_FALSE(rewritten("process", gone).has_value());
    EXPECT_TRUE(rewritten("process", getpid()).has_value());
    fs::permissions(file, fs::perms::group_read, fs::perm_options::add);
    EXPECT_FALSE(runningShelf(folder).has_value()) << "anybody may have written it";

    season.shelf.reset();
    EXPECT_FALSE(fs::exists(file));
    // Left by one that was killed: nobody holds the folder, and the next one tells its own.
    season.scratch.write("season/.running", told);
    fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
    EXPECT_FALSE(runningShelf(folder).has_value());
    season.open();
    EXPECT_EQ(runningShelf(folder), season.shelf->address());
    EXPECT_NE(test::readBytes(file), told);
}

TEST(Shelf, KeepsEveryCorrectionInAFileOfItsOwn)
{
    const Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    const std::string dry = R"({"schema": 1, "photo": "T02_2026-01-12.jpg", "tub": "T02", "water_line": []})";
    EXPECT_EQ(season.ask("POST", "correction", dry).status, 200);
    EXPECT_EQ(season.ask("POST", "correction", dry).status, 200);
    EXPECT_EQ(season.ask("POST", "correction", R"({"schema": 1, "photo": "../x", "tub": ""})").status, 422);
    EXPECT_EQ(season.file("corrections/T02_2026-01-12.json"), dry);
    EXPECT_EQ(season.file("corrections/T02_2026-01-12 (2).json"), dry);
    season.settled();
    EXPECT_NE(season.file("observations.csv").find("water line set by hand"), std::string::npos);
}

TEST(Shelf, TakesBackWhatWasSavedOnAPhotoLastOrAll)
{
    const Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.send("T02_2026-01-20", "T02_2026-01-20.jpg");
    season.settled();
    const std::string untouched = season.file("observations.csv");
    const auto draw = [&](const std::string& day, const std::string& said) {
        season.ask("POST", "correction",
                   R"({"schema": 1, "photo": "T02_)" + day + R"(.jpg", "tub": "T02", )" + said + "}");
    };
    const std::string stroke =
        R"("strokes": [{"kind": "root", "width": 6, "points": [[430, 700], [450, 800]]}])";
    const auto ask = [&](const std::string& path, const std::string& what) {
        return season.ask("POST", "correction/" + path,
                          Json{{"photo", "T02_2026-01-12.jpg"}, {"tub", "T02"}, {"what", what}}.dump());
    };
    EXPECT_EQ(ask("asked", "").status, 422) << "nothing is saved";
    draw("2026-01-12", stroke);
    draw("2026-01-12", R"("water_line": [])");
    draw("2026-01-20", stroke);
    season.settled();
    const Json saved = Json::parse(ask("asked", "").body);
    EXPECT_FALSE(saved.at("last").contains("strokes"));
    EXPECT_EQ(saved.at("all").at("strokes").size(), 1U);
    EXPECT_TRUE(saved.at("all").contains("water_line"));

    EXPECT_EQ(ask("undo", "some").status, 422);
    const Json left = Json::parse(ask("undo", "last").body).at("drawn");
    EXPECT_EQ(left.at("strokes").size(), 1U);
    EXPECT_FALSE(left.contains("water_line"));
    season.settled();
    EXPECT_EQ(season.file("observations.csv").find("water line set by hand"), std::string::npos);
    draw("2026-01-12", R"("water_line": [])");
    EXPECT_TRUE(Json::parse(ask("undo", "all").body).at("drawn").is_null());
    season.settled();
    const std::string now = season.file("observations.csv");
    EXPECT_EQ(now.substr(0, now.find("T02_2026-01-20")),
              untouched.substr(0, untouched.find("T02_2026-01-20")));
    EXPECT_NE(now.find("roots corrected by hand"), std::string::npos) << "that of the other photo stays";
    int kept = 0;
    for (const auto& file : fs::directory_iterator(season.scratch / "season/corrections"))
        kept += file.path().extension() == ".taken-back";
    EXPECT_EQ(kept, 3) << "nothing is thrown away";
}

TEST(Shelf, TeachesFromStrokesOnTwoPhotosAndTakesItBack)
{
    const Season season;
    EXPECT_EQ(season.ask("POST", "teach", R"({"what": "teach"})").status, 422) << "nothing drawn";
    EXPECT_EQ(season.ask("POST", "teach", R"({"what": "all"})").status, 422);
    for (const std::string day : {"2026-02-18", "2026-02-26"})
        season.send("T02_" + day, "T02_" + day + ".jpg");
    season.settled();
    const auto draw = [&](const std::string& day) {
        return season.ask("POST", "correction",
                          R"({"schema": 1, "photo": "T02_)" + day +
                              R"(.jpg", "tub": "T02", "strokes": [{"kind": "root", "width": 6,
                              "points": [[430, 700], [450, 800]]}]})");
    };
    EXPECT_EQ(draw("2026-02-18").status, 200);
    EXPECT_EQ(season.settled().at("teach").at("photos"), 1);
    EXPECT_EQ(draw("2026-02-26").status, 200);
    const Json before = season.settled();
    EXPECT_EQ(before.at("teach"), (Json{{"photos", 2}, {"taught", false}, {"busy", false}, {"says", ""}}));

    EXPECT_EQ(season.ask("POST", "teach", R"({"what": "teach"})").status, 200);
    EXPECT_TRUE(season.state().at("teach").at("busy").get<bool>());
    const Json after = season.settled();
    EXPECT_EQ(after.at("failure"), "");
    EXPECT_GT(after.at("round"), before.at("round"));
    const bool taught = after.at("teach").at("taught");
    EXPECT_EQ(taught, fs::exists(season.scratch / "season/taught.json"));
    EXPECT_EQ(after.at("teach").at("says").get<std::string>().find(
                  taught ? "Learnt from 2 strokes on 2 photos." : "Nothing was learnt: "),
              0U)
        << after.at("teach");

    EXPECT_EQ(season.ask("POST", "teach", R"({"what": "forget"})").status, 200);
    const Json undone = season.settled().at("teach");
    EXPECT_FALSE(undone.at("taught").get<bool>());
    EXPECT_EQ(undone.at("says"), taught ? "The teaching is undone: the season is measured as before it."
                                        : "Nothing had been taught.");
}

TEST(Shelf, ShowsNothingButTheSeasonsOutput)
{
    const Season season;
    season.send("T02_2026-01-12", "T02_2026-01-12.jpg");
    season.settled();
    fs::create_symlink("/etc/passwd", season.scratch / "season/report/passwd.csv");
    for (const std::string path : {"season.db", "photos/T02_2026-01-12.jpg", "care.csv", "report", "report/",
                                   "report/passwd.csv", "../season.db", "report/../season.db", ".sent/1",
                                   "sent?photo=../season.db", "sent?photo=.", "sent", "corrections/x.json"})
        EXPECT_GE(season.ask("GET", path).status, 400) << path;
    for (const std::string path : {"observations.csv", "season.json", "report/index.html"})
        EXPECT_EQ(season.ask("GET", path).status, 200) << path;
    EXPECT_EQ(season.ask("POST", "invitation").status, 404) << "only where phones may come";
    EXPECT_EQ(season.ask("POST", "no-such-thing", "{}").status, 404);
    EXPECT_EQ(season.ask("POST", "care", "[1]").status, 422);
    EXPECT_EQ(season.ask("POST", "care", "{").status, 400);
}

TEST(Qr, IsSquareWithAQuietZone)
{
    // Version 1 has 21 modules a side (ISO/IEC 18004), and 4 of quiet zone around.
    EXPECT_NE(qrSvg("T01").find("viewBox=\"0 0 29 29\""), std::string::npos);
    EXPECT_FALSE(qrForTerminal("T01").empty());
    EXPECT_THROW(qrSvg(std::string(5000, 'x')), std::runtime_error);
}

}  // namespace
}  // namespace slipglass
