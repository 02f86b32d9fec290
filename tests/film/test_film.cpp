// Films of a small measured season: two sample renderings of T01, one of them again as another camera would
// have it, a photo that shows another side, and one without a tub.
#include <gtest/gtest.h>
#include <stdlib.h>
#include <webp/demux.h>

#include <memory>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <opencv2/videoio.hpp>

#include "../support/samples.h"
#include "../support/scratch_folder.h"
#include "slipglass/error.h"
#include "slipglass/film/film.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/measure.h"
#include "slipglass/store/season_store.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

/// The frames of an animated WebP, and when each ends, ms.
struct Animation {
    std::vector<cv::Mat> frames;
    std::vector<int> ends_ms;
};

Animation decodedWebp(const std::string& bytes)
{
    Animation all;
    const WebPData data{reinterpret_cast<const uint8_t*>(bytes.data()), bytes.size()};
    const std::unique_ptr<WebPAnimDecoder, decltype(&WebPAnimDecoderDelete)> decoder(
        WebPAnimDecoderNew(&data, nullptr), &WebPAnimDecoderDelete);
    WebPAnimInfo info{};
    if (!decoder || !WebPAnimDecoderGetInfo(decoder.get(), &info)) return all;
    uint8_t* pixels = nullptr;
    int end_ms = 0;
    while (WebPAnimDecoderHasMoreFrames(decoder.get()) &&
           WebPAnimDecoderGetNext(decoder.get(), &pixels, &end_ms)) {
        const cv::Mat rgba(static_cast<int>(info.canvas_height), static_cast<int>(info.canvas_width), CV_8UC4,
                           pixels);
        cv::Mat bgr;
        cv::cvtColor(rgba, bgr, cv::COLOR_RGBA2BGR);
        all.frames.push_back(bgr);
        all.ends_ms.push_back(end_ms);
    }
    return all;
}

/// The frames of a video, by a reader that is none of ours.
std::vector<cv::Mat> decodedVideo(const fs::path& file)
{
    std::vector<cv::Mat> frames;
    cv::VideoCapture video(file.string());
    for (cv::Mat frame; video.read(frame);) frames.push_back(frame.clone());
    return frames;
}

double meanDifference(const cv::Mat& a, const cv::Mat& b)
{
    cv::Mat difference;
    cv::absdiff(a, b, difference);
    const cv::Scalar mean = cv::mean(difference);
    return (mean[0] + mean[1] + mean[2]) / 3;
}

std::string errorOf(const std::function<void()>& action)
{
    try {
        action();
    } catch (const Error& error) {
        return error.what();
    }
    return "no error";
}

class Films : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        scratch_ = std::make_unique<test::ScratchFolder>();
        const fs::path photos = *scratch_ / "photos";
        fs::create_directories(photos);
        fs::copy_file(test::samplePhoto("T01_2026-01-12"), photos / "T01_2026-01-12.jpg");
        fs::copy_file(test::samplePhoto("T01_2026-02-24"), photos / "T01_2026-02-24.jpg");
        fs::copy_file(test::samplePhoto("T03_2026-02-22"), photos / "T01_2026-02-25.jpg");
        const cv::Mat photo = cv::imread(test::samplePhoto("T01_2026-01-12").string());
        // As from two steps further back, a little to the left.
        cv::Mat farther(photo.size(), CV_8UC3, cv::Scalar(110, 110, 110)), small;
        cv::resize(photo, small, {}, 0.85, 0.85, cv::INTER_AREA);
        small.copyTo(farther(cv::Rect(photo.cols / 8, photo.rows / 10, small.cols, small.rows)));
        cv::imwrite((photos / "T02_2026-01-12.jpg").string(), photo);
        cv::imwrite((photos / "T02_2026-01-19.jpg").string(), farther);
        cv::imwrite((photos / "T01_2026-02-26.jpg").string(),
                    cv::Mat(1200, 900, CV_8UC3, cv::Scalar(90, 90, 90)));
        MeasureOptions options;
        options.photos = {photos};
        options.batch =
            scratch_->write("batch.csv", "tub,tub_type,stuck_on\nT01,quart,2026-01-12\nT02,quart,\n");
        options.settings = scratch_->write("quick.json", R"({"roots": {"learned": false}})");
        options.out = season();
        options.today = Date{std::chrono::year{2026} / 4 / 1};
        (void)measure(options, {});
    }
    static void TearDownTestSuite() { scratch_.reset(); }

    static fs::path season() { return *scratch_ / "out"; }
    static Film film(FilmOf of = FilmOf::wall, bool tint = false, const std::string& tub = "T01")
    {
        return filmOf(season(), {tub, of, tint});
    }

    inline static std::unique_ptr<test::ScratchFolder> scratch_;
    test::ScratchFolder films_;
};

TEST_F(Films, HaveAFrameForEachPhotoOfTheSameSideAndSayWhatIsLeftOut)
{
    const Film all = film();
    ASSERT_EQ(all.frames.size(), 2U);
    EXPECT_EQ(isoDate(all.dates[0]), "2026-01-12");
    EXPECT_EQ(isoDate(all.dates[1]), "2026-02-24");
    EXPECT_EQ(all.frames[0].size(), all.frames[1].size());
    EXPECT_EQ(all.frames[0].cols % 2, 0);
    EXPECT_EQ(all.frames[0].rows % 2, 0);
    ASSERT_EQ(all.left_out.size(), 2U);
    EXPECT_EQ(all.left_out[0].photo, "T01_2026-02-25.jpg");
    EXPECT_NE(all.left_out[0].why.find("another side"), std::string::npos);
    EXPECT_EQ(all.left_out[1].photo, "T01_2026-02-26.jpg");
    EXPECT_NE(all.left_out[1].why.find("not be measured"), std::string::npos);
}

TEST_F(Films, OfThePhotoShowEveryPhotoWithATub)
{
    const Film all = film(FilmOf::photo);
    EXPECT_EQ(all.frames.size(), 3U);
    ASSERT_EQ(all.left_out.size(), 1U);
    EXPECT_EQ(all.left_out[0].why, "no tub was found in it");
    EXPECT_EQ(FilmWish{}.of, FilmOf::photo) << "nobody has to ask for it";
}

// Seen from above, the near edge of the foot lies below the outline's corners, by less than a sixth of the
// tub.
TEST_F(Films, OfThePhotoHaveTheWholeTubInThePicture)
{
    const Film all = film(FilmOf::photo);
    const auto seen = SeasonStore(season() / output::kSeason, SeasonStore::Use::read).observations();
    std::vector<cv::Point2f> outline;
    for (const PhotoPoint& p : seen.front().outline)
        outline.emplace_back(static_cast<float>(p.x_px), static_cast<float>(p.y_px));
    const cv::Rect tub = cv::boundingRect(outline);
    ASSERT_EQ(seen.front().photo, "T01_2026-01-12.jpg");
    EXPECT_GE(all.frames[0].rows, tub.height + std::max(tub.width, tub.height) / 3);
    EXPECT_GE(all.frames[0].cols, tub.width + std::max(tub.width, tub.height) / 5 - 1);
}

/// How far a part of one frame lies from the same part of another, px.
double shiftOf(const cv::Mat& a, const cv::Mat& b, const cv::Rect& part)
{
    const auto grey = [&](const cv::Mat& frame) {
        cv::Mat result;
        cv::cvtColor(frame(part), result, cv::COLOR_BGR2GRAY);
        result.convertTo(result, CV_32F);
        return result;
    };
    cv::Mat window;
    cv::createHanningWindow(window, part.size(), CV_32F);
    return cv::norm(cv::phaseCorrelate(grey(a), grey(b), window));
}

// Truth by construction: the second photo is the first, smaller by 15 % and moved by an eighth of its width,
// so that laid on each other all its parts come to lie where they were. Tolerance: the tub is found anew in
// it; one in a hundred of the frame's width.
TEST_F(Films, LayEachPhotoOnTheFirst)
{
    for (const FilmOf of : {FilmOf::photo, FilmOf::wall}) {
        const std::vector<cv::Mat> frames = film(of, false, "T02").frames;
        ASSERT_EQ(frames.size(), 2U);
        const int w = frames[0].cols / 4, h = frames[0].rows / 4;
        for (const cv::Point corner :
             {cv::Point(w, h), cv::Point(2 * w, h), cv::Point(w, 2 * h), cv::Point(2 * w, 2 * h)})
            EXPECT_LT(shiftOf(frames[0], frames[1], {corner, cv::Size(w, h)}), 0.01 * frames[0].cols)
                << corner;
    }
}

TEST_F(Films, SayTheDayBelowEachPicture)
{
    const Film all = film();
    const auto words = [](const cv::Mat& frame) { return frame.rowRange(frame.rows - 20, frame.rows); };
    double least = 0, most = 0;
    cv::minMaxLoc(words(all.frames[0]).reshape(1), &least, &most);
    EXPECT_LT(least, 40) << "dark paper";
    EXPECT_GT(most, 200) << "light letters";
    EXPECT_GT(meanDifference(words(all.frames[0]), words(all.frames[1])), 0.5) << "another day, other words";
    const cv::Mat last_row = all.frames[0].row(all.frames[0].rows - 1).reshape(1);
    cv::minMaxLoc(last_row, &least, &most);
    EXPECT_EQ(least, most) << "nothing sticks out below";
}

// Truth: the growth map that `measure` wrote, which is see-through beside the wall that figures rest on; the
// film tints what lies there too.
TEST_F(Films, TintRootsFromTheDayTheyWereFirstSeen)
{
    const Film plain = film(), tinted = film(FilmOf::wall, true);
    ASSERT_EQ(tinted.frames.size(), plain.frames.size());
    const cv::Mat map = cv::imread((season() / growthMapName("T01")).string(), cv::IMREAD_UNCHANGED);
    ASSERT_EQ(map.type(), CV_8UC4);
    const cv::Size frame = plain.frames[0].size();
    const cv::Rect wall(0, 0, std::min(frame.width, map.cols), std::min(frame.height * 9 / 10, map.rows));
    cv::Mat shown, hsv, bare;
    cv::extractChannel(map(wall), shown, 3);
    const auto changed = [&](size_t i) {
        cv::Mat difference, grey;
        cv::absdiff(plain.frames[i](wall), tinted.frames[i](wall), difference);
        cv::cvtColor(difference, grey, cv::COLOR_BGR2GRAY);
        return cv::countNonZero((grey > 3) & shown);
    };
    // Roots are light, the wall is dark.
    cv::cvtColor(map(wall), bare, cv::COLOR_BGRA2BGR);
    cv::cvtColor(bare, hsv, cv::COLOR_BGR2HSV);
    cv::Mat roots;
    cv::inRange(hsv, cv::Scalar(0, 0, 100), cv::Scalar(180, 255, 255), roots);
    roots &= shown;
    ASSERT_GT(cv::countNonZero(roots), 1000);
    EXPECT_NEAR(changed(1), cv::countNonZero(roots), 0.15 * cv::countNonZero(roots));
    EXPECT_LT(changed(0), changed(1) / 4) << "on the first day hardly any was there";
}

TEST_F(Films, AreDecodedAgainFromWebpAsTheyWereDrawn)
{
    const Film all = film();
    writeFilm(all.frames, 1.5, films_ / "film.webp");
    const Animation back = decodedWebp(test::readBytes(films_ / "film.webp"));
    ASSERT_EQ(back.frames.size(), all.frames.size());
    EXPECT_EQ(back.ends_ms, (std::vector<int>{1500, 3000}));
    for (size_t i = 0; i < back.frames.size(); ++i)
        EXPECT_LT(meanDifference(back.frames[i], all.frames[i]), 6) << "lossy, but not by much";
}

TEST_F(Films, AreDecodedAgainFromVideosAsTheyWereDrawn)
{
    const Film all = film();
    for (const char* name : {"film.mp4", "film.webm"}) {
        writeFilm(all.frames, 0.5, films_ / name);
        const std::vector<cv::Mat> back = decodedVideo(films_ / name);
        ASSERT_EQ(back.size(), all.frames.size()) << name;
        for (size_t i = 0; i < back.size(); ++i)
            EXPECT_LT(meanDifference(back[i], all.frames[i]), 6) << name << ", frame " << i;
        EXPECT_NEAR(cv::VideoCapture((films_ / name).string()).get(cv::CAP_PROP_FPS), 2, 0.01) << name;
    }
}

TEST_F(Films, AreTheSameBytesEachTime)
{
    for (const char* ending : {".webp", ".mp4", ".webm"}) {
        const std::string one = std::string("one").append(ending), two = std::string("two").append(ending);
        writeFilm(film().frames, 1, films_ / one);
        writeFilm(film().frames, 1, films_ / two);
        EXPECT_EQ(test::readBytes(films_ / one), test::readBytes(films_ / two)) << ending;
    }
}

TEST_F(Films, NameTheNearestTubWhereThereIsNone)
{
    EXPECT_NE(errorOf([] { (void)film(FilmOf::wall, false, "T1"); }).find("Perhaps 'T01' is meant"),
              std::string::npos);
    EXPECT_NE(errorOf([] { (void)film(FilmOf::wall, false, "greenhouse"); }).find("has no photos of a tub"),
              std::string::npos);
}

TEST_F(Films, SayWhatCannotBeDone)
{
    EXPECT_NE(errorOf([] { checkFilmName("T01.gif"); }).find(".webp, .mp4 or .webm"), std::string::npos);
    EXPECT_EQ(errorOf([] { checkFilmName("T01.WEBP"); }), "no error");
    EXPECT_NE(errorOf([] { (void)film(FilmOf::photo, true); }).find("Add --wall"), std::string::npos);
    EXPECT_NE(errorOf([&] {
                  (void)filmOf(films_.path(), {"T01", FilmOf::wall, false});
              }).find("season file"),
              std::string::npos);
}

TEST_F(Films, SayThatPicturesAreGone)
{
    fs::copy(season(), films_ / "copy", fs::copy_options::recursive);
    fs::remove_all(films_ / "copy" / "report");
    const std::string error = errorOf([&] { (void)filmOf(films_ / "copy", {"T01", FilmOf::wall, false}); });
    EXPECT_NE(error.find("has no picture of the tub 'T01'"), std::string::npos) << error;
    EXPECT_NE(error.find("Run 'slipglass measure' again"), std::string::npos) << error;
}

TEST_F(Films, SayWhatIsNeededWhereFfmpegIsNot)
{
    const char* const set = getenv("PATH");
    ASSERT_NE(set, nullptr);
    const std::string path = set;
    setenv("PATH", films_.path().c_str(), 1);
    const std::vector<cv::Mat> frames{cv::Mat(20, 20, CV_8UC3, cv::Scalar(1, 2, 3))};
    const std::string error = errorOf([&] { writeFilm(frames, 1, films_ / "film.mp4"); });
    writeFilm(frames, 1, films_ / "film.webp");
    // A ffmpeg that cannot: its first line is passed on.
    const fs::path broken = films_.write("ffmpeg", "#!/bin/sh\necho 'Unknown encoder' >&2\nexit 1\n");
    fs::permissions(broken, fs::perms::owner_all);
    const std::string failed = errorOf([&] { writeFilm(frames, 1, films_ / "film.mp4"); });
    setenv("PATH", path.c_str(), 1);
    EXPECT_NE(error.find("ffmpeg"), std::string::npos);
    EXPECT_NE(error.find("not installed"), std::string::npos);
    EXPECT_NE(failed.find("Unknown encoder"), std::string::npos) << failed;
    EXPECT_FALSE(fs::exists(films_ / "film.mp4"));
    EXPECT_TRUE(fs::exists(films_ / "film.webp"));
}

}  // namespace
}  // namespace slipglass
