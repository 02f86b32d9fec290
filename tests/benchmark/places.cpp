// Where the tub is said to stand, photo by photo, against renderings with exact truth: wall IoU, scale and
// surface errors, confidence. Without roots or water, so that it takes a fraction of a second a photo.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "slipglass/observe.h"
#include "slipglass/season/plan.h"
#include "true_tub.h"

namespace fs = std::filesystem;
using namespace slipglass;

int main(int argc, char** argv)
{
    CLI::App app("A row of CSV for each photo: how well its tub was placed.");
    fs::path scenes, pictures;
    bool no_type = false, no_label = false;
    app.add_option("SCENES", scenes, "folder with photos/, truth/, batch.csv and perhaps settings.json")
        ->required();
    app.add_flag("--no-type", no_type, "as without tub types in the plan");
    app.add_flag("--no-label", no_label, "as if no label could be read");
    app.add_option("--pictures", pictures,
                   "folder for the photos with wall left out in blue, wall that is none in red");
    CLI11_PARSE(app, argc, argv);

    Settings settings;
    if (fs::exists(scenes / "settings.json")) settings = readSettingsFile(scenes / "settings.json");
    std::map<std::string, std::string> types;
    for (const PlannedCutting& c : readPlan(scenes / "batch.csv").cuttings) types[c.tub] = c.tub_type;
    std::vector<fs::path> photos;
    for (const auto& entry : fs::directory_iterator(scenes / "photos")) photos.push_back(entry.path());
    std::sort(photos.begin(), photos.end());
    std::puts(
        "photo,label,found,confidence,wall_iou,scale_error_percent,surface_error_mm,foot_error_mm,pitch_"
        "error_deg,"
        "roll_error_deg,doubt");
    for (const fs::path& path : photos) {
        const std::string stem = path.stem().string(), tub = stem.substr(0, stem.find('_'));
        std::ifstream file(scenes / "truth" / (stem + ".truth.json"));
        const auto truth = nlohmann::json::parse(file);
        const PhotoFacts facts = readFacts(path);
        const Picture picture = readPicture(path, facts, 2400);
        TubQuery query{picture.bgr, picture.full_size, facts.focal_35mm, std::nullopt, std::nullopt};
        if (!no_type && !types[tub].empty()) query.type = tubType(types[tub], settings.tub_types);
        if (!no_label)
            for (const Label& label : labelsIn(picture, settings.label))
                if (label.tub == tub) query.label = label;
        const TubFinding finding = findTub(query, settings.tub);
        const bool labelled = !truth.at("label").is_null();
        std::printf("%s,%s,", stem.c_str(), query.label ? "read" : (labelled ? "missed" : "none"));
        if (!finding.tub) {
            std::printf("0,,,,,,,,%s\n", finding.reason.c_str());
            continue;
        }
        const Panel panel = unrollWall(picture.bgr, picture.reduction, *finding.tub, settings.panel);
        const cv::Mat wall = photoMask(panel, panel.wall, picture.bgr.size(), picture.reduction) > 127;
        cv::Mat truly = cv::imread((scenes / "truth" / (stem + ".wall.png")).string(), cv::IMREAD_GRAYSCALE);
        cv::resize(truly, truly, picture.bgr.size(), 0, 0, cv::INTER_NEAREST);
        truly = truly > 127;
        std::printf("1,%.3f,%.4f,", finding.tub->confidence,
                    static_cast<double>(cv::countNonZero(wall & truly)) / cv::countNonZero(wall | truly));
        if (!pictures.empty()) {
            cv::Mat shown = picture.bgr / 2;
            shown.setTo(cv::Scalar(255, 120, 0), truly & ~wall);
            shown.setTo(cv::Scalar(0, 0, 255), wall & ~truly);
            fs::create_directories(pictures);
            cv::imwrite((pictures / (stem + ".jpg")).string(), shown);
        }
        if (panel.in_mm)
            std::printf("%.2f,%.2f,", 100 * (panel.px_per_unit / truth.at("px_per_mm").get<double>() - 1),
                        finding.tub->surfaceMean() - finding.tub->pose.cone.wall -
                            truth.at("medium_surface_mm").get<double>());
        else
            std::printf(",,");
        // Of the base's place in the picture, up from where it is.
        const Pose &ours = finding.tub->pose, real = trueTub(truth).pose;
        const double up_px = View(real).photoFromWall({0, 0}).y_px - View(ours).photoFromWall({0, 0}).y_px;
        std::printf("%.2f,%.2f,%.2f,", up_px / View(real).pxPerUnit(0),
                    (ours.pitch - real.pitch) * 180 / CV_PI, (ours.roll - real.roll) * 180 / CV_PI);
        std::printf("%s\n", finding.tub->doubt.c_str());
        std::fflush(stdout);
    }
    return 0;
}
