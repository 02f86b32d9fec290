// Makes what the fuzzers begin with, a folder a reader: fuzz_seeds DIR. From the pictures and tables of
// tests/data and sample-images, and a season as SeasonStore writes it.
#include <sqlite3.h>

#include <filesystem>
#include <fstream>
#include <iostream>
#include <opencv2/imgproc.hpp>

#include "../support/bare_wall.h"
#include "../support/scratch_folder.h"
#include "slipglass/panel/panel_file.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/store/season_store.h"

namespace {

namespace fs = std::filesystem;
using namespace slipglass;

const fs::path kData = SLIPGLASS_TEST_DATA, kSamples = SLIPGLASS_SAMPLES;
fs::path all_seeds;

void put(const std::string& reader, const std::string& name, const std::string& bytes)
{
    fs::create_directories(all_seeds / reader);
    std::ofstream(all_seeds / reader / name, std::ios::binary) << bytes;
}

void pictures()
{
    const std::pair<const char*, const char*> kinds[] = {
        {".jpg", "jpeg"}, {".png", "png"}, {".webp", "webp"}, {".tif", "tiff"}, {".heic", "heic"}};
    for (const auto& entry : fs::directory_iterator(kData / "photo"))
        for (const auto& [ending, reader] : kinds) {
            if (entry.path().extension() != ending) continue;
            const std::string bytes = test::readBytes(entry.path());
            put(reader, entry.path().filename(), bytes);
            if (ending != std::string(".tif") && ending != std::string(".heic"))
                put("own_picture", entry.path().filename(), bytes);
            const size_t exif = bytes.find(std::string("Exif\0\0", 6));
            if (exif != std::string::npos) put("exif", entry.path().filename(), bytes.substr(exif, 300));
        }
}

void labels()
{
    for (const auto& entry : fs::directory_iterator(kData / "labels")) {
        const cv::Mat picture = entry.path().extension() == ".png" ? pictureFrom(entry.path()) : cv::Mat();
        if (picture.empty() || picture.total() > 500UL * 500) continue;
        cv::Mat grey = picture;
        if (picture.channels() > 1) cv::cvtColor(picture, grey, cv::COLOR_BGR2GRAY);
        const double scale = 110.0 / std::max(grey.cols, grey.rows);
        if (scale < 1) cv::resize(grey, grey, {}, scale, scale, cv::INTER_AREA);
        std::string bytes(1, static_cast<char>(grey.cols));
        for (int y = 0; y < grey.rows; ++y) bytes.append(grey.ptr<char>(y), static_cast<size_t>(grey.cols));
        put("label_picture", entry.path().stem(), bytes);
    }
}

void tables()
{
    put("plan", "sample", test::readBytes(kSamples / "batch.csv"));
    put("care", "sample", test::readBytes(kSamples / "care.csv"));
    for (const auto& entry : fs::directory_iterator(kSamples / "truth"))
        if (entry.path().extension() == ".json")
            put("truth", entry.path().stem(), test::readBytes(entry.path()));
}

void seasons()
{
    for (const char* version : {"3", "4", "5", "6"}) {
        const test::ScratchFolder folder;
        const fs::path file = folder / "season.db";
        sqlite3* database = nullptr;
        sqlite3_open(file.c_str(), &database);
        const auto name = std::string("version-") + version;
        const std::string sql = test::readBytes(kData / "season-files" / (name + ".sql"));
        sqlite3_exec(database, ("PRAGMA page_size = 1024;" + sql).c_str(), nullptr, nullptr, nullptr);
        sqlite3_close(database);
        put("season", name, test::readBytes(file));
        {
            const SeasonStore up_to_date(file, SeasonStore::Use::write);
        }
        put("season", name + "-today", test::readBytes(file));
    }
}

void walls()
{
    WallView view = test::bareWall();
    for (cv::Mat* mask : {&view.panel.wall, &view.panel.visible, &view.panel.frontal})
        *mask = (*mask)(cv::Rect(0, 0, 31, 21)).clone();
    view.panel.bgr = cv::Mat(21, 31, CV_8UC3, cv::Scalar(90, 90, 90));
    view.to_reference->size = {31, 21};
    view.roots.log_odds = cv::Mat(21, 31, CV_32F, cv::Scalar(-3));
    view.roots.log_odds.row(10).setTo(3);
    view.roots.if_root_browned = cv::Mat::zeros(21, 31, CV_8U);
    const WallViewFile kept = encodeWallView(view);
    put("wall_view", "view", kept.meta + "\n" + kept.bytes);
    const PanelFile panel = encodePanel(view.panel);
    put("wall_view", "panel", panel.meta + "\n" + panel.bytes);
    SidePhotos side;
    side.reference_size = {31, 21};
    side.count = kLaterAsked + 2;
    side.view = [&](size_t) { return decodeWallView(kept); };
    const SideReading read = readSide(side, {}, 0, {}, [](size_t, const WallView&, const WallReading&) {});
    put("wall_sum", "sum", encodeWallSum(read.to_go_on));
}

}  // namespace

int main(int count, char** arguments)
{
    if (count != 2) {
        std::cerr << "fuzz_seeds DIR\n";
        return 1;
    }
    all_seeds = arguments[1];
    pictures();
    labels();
    tables();
    seasons();
    walls();
    return 0;
}
