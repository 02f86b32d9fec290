#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "../words/strict_json.h"
#include "slipglass/photo/picture_bytes.h"
#include "slipglass/wall/wall_history.h"

namespace slipglass {

namespace {

using nlohmann::json;

constexpr double kSteps = 20;                              // of log-odds in one
constexpr int kNone = 128, kSaidNot = 0, kSaidRoot = 255;  // pixel values; those between are log-odds
constexpr int kWall = 1, kVisible = 2, kFrontal = 4;

cv::Mat logOddsAsBytes(const cv::Mat& log_odds)
{
    cv::Mat bytes;
    log_odds.convertTo(bytes, CV_8U, kSteps, kNone);  // rounds, and keeps within 0..255
    bytes = cv::min(cv::max(bytes, kSaidNot + 1), kSaidRoot - 1);
    bytes.setTo(kSaidRoot, log_odds >= kSaidLogOdds);
    bytes.setTo(kSaidNot, log_odds <= -kSaidLogOdds);
    return bytes;
}

cv::Mat logOddsFromBytes(const cv::Mat& bytes)
{
    cv::Mat log_odds;
    bytes.convertTo(log_odds, CV_32F, 1 / kSteps, -kNone / kSteps);
    log_odds.setTo(kSaidLogOdds, bytes == kSaidRoot);
    log_odds.setTo(-kSaidLogOdds, bytes == kSaidNot);
    return log_odds;
}

json poseJson(const Pose& pose)
{
    return {pose.focal_px,   pose.centre_px.x, pose.centre_px.y,
            pose.roll,       pose.pitch,       pose.base.x,
            pose.base.y,     pose.base.z,      pose.cone.base_radius,
            pose.cone.slope, pose.cone.height, pose.cone.wall};
}

Pose poseFrom(const json& list)
{
    const auto v = list.get<std::array<double, 12>>();
    return {v[0], {v[1], v[2]}, v[3], v[4], {v[5], v[6], v[7]}, {v[8], v[9], v[10], v[11]}};
}

}  // namespace

WallViewFile encodeWallView(const WallView& view)
{
    const Panel& panel = view.panel;
    cv::Mat masks = cv::Mat::zeros(panel.wall.size(), CV_8U), picture;
    masks.setTo(kWall, panel.wall);
    masks.setTo(kWall | kVisible, panel.visible);
    masks.setTo(kWall | kVisible | kFrontal, panel.frontal);
    cv::merge(std::vector<cv::Mat>{logOddsAsBytes(view.roots.log_odds), view.roots.if_root_browned, masks},
              picture);
    picture.setTo(cv::Scalar(kSaidNot + 1, 0, 0), panel.wall == 0);  // what is not wall takes no room
    json meta = {{"mm_per_px", panel.unit_per_px}, {"top_mm", panel.top},
                 {"in_mm", panel.in_mm},           {"base_known", panel.base_known},
                 {"px_per_mm", panel.px_per_unit}, {"pose", poseJson(panel.inner)}};
    if (const auto& way = view.to_reference)
        meta["drift"] = {{"x", way->x}, {"y", way->y}, {"size", {way->size.width, way->size.height}}};
    return {pngBytes(picture), meta.dump()};
}

std::optional<WallView> decodeWallView(const WallViewFile& file)
{
    const cv::Mat picture = pictureIn(file.bytes);
    if (picture.empty() || picture.type() != CV_8UC3) return std::nullopt;
    WallView view;
    try {
        const json meta = json::parse(file.meta);
        Panel& panel = view.panel;
        panel.unit_per_px = meta.at("mm_per_px");
        panel.top = meta.at("top_mm");
        panel.in_mm = meta.at("in_mm");
        panel.base_known = meta.at("base_known");
        panel.px_per_unit = meta.at("px_per_mm");
        panel.inner = poseFrom(meta.at("pose"));
    } catch (const json::exception&) {
        return std::nullopt;
    }
    view.to_reference = driftIn(file.meta);
    if (view.to_reference && view.to_reference->size != picture.size()) return std::nullopt;
    std::vector<cv::Mat> planes;
    cv::split(picture, planes);
    view.roots.log_odds = logOddsFromBytes(planes[0]);
    view.roots.if_root_browned = planes[1];
    const auto maskOf = [&](int bit) { return cv::Mat((planes[2] & bit) != 0); };
    view.panel.wall = maskOf(kWall);
    view.panel.visible = maskOf(kVisible);
    view.panel.frontal = maskOf(kFrontal);
    return view;
}

double innerRadiusIn(const std::string& meta)
{
    try {
        return poseFrom(json::parse(meta).at("pose")).cone.base_radius;
    } catch (const json::exception&) {
        return 0;
    }
}

std::optional<Drift> driftIn(const std::string& meta)
{
    try {
        const json all = json::parse(meta);
        const json& drift = all.at("drift");
        Drift way{
            {intIn(drift.at("size").at(0)), intIn(drift.at("size").at(1))}, drift.at("x"), drift.at("y")};
        constexpr double kMost = 1e6;  // px: no panel is as wide
        const auto isWild = [](double number) { return !(std::abs(number) <= kMost); };
        if (std::any_of(way.x.begin(), way.x.end(), isWild) ||
            std::any_of(way.y.begin(), way.y.end(), isWild))
            return std::nullopt;
        return way;
    } catch (const json::exception&) {
        return std::nullopt;
    }
}

std::string encodeWallSum(const WallSum& sum)
{
    // A PNG takes no floats: their four bytes stand for four colours.
    const cv::Mat root(sum.root.size(), CV_8UC4, sum.root.data, sum.root.step);
    json sizes = json::array();
    std::string pictures;
    for (const cv::Mat& picture : {root, sum.first_seen, sum.shown, sum.times}) {
        const std::string bytes = pngBytes(picture);
        sizes.push_back(bytes.size());
        pictures += bytes;
    }
    return json{{"photos", sum.photos}, {"left", sum.left}, {"sizes", sizes}}.dump() + '\n' + pictures;
}

std::optional<WallSum> decodeWallSum(const std::string& bytes)
{
    const size_t line = bytes.find('\n');
    if (line == std::string::npos) return std::nullopt;
    try {
        const json head = json::parse(bytes.substr(0, line));
        WallSum sum;
        sum.photos = intIn(head.at("photos"));
        sum.left = intIn(head.at("left"));
        size_t at = line + 1;
        std::vector<cv::Mat> pictures;
        for (const json& one : head.at("sizes")) {
            const auto size = static_cast<size_t>(std::max(0, intIn(one)));
            if (size > bytes.size() - at) return std::nullopt;
            pictures.push_back(pictureIn(std::string_view(bytes).substr(at, size)));
            at += size;
        }
        const std::vector<int> types = {CV_8UC4, CV_16UC1, CV_8UC1, CV_8UC1};
        if (sum.photos < 1 || pictures.size() != types.size()) return std::nullopt;
        for (size_t i = 0; i < types.size(); ++i)
            if (pictures[i].type() != types[i] || pictures[i].size() != pictures[0].size())
                return std::nullopt;
        sum.root = cv::Mat(pictures[0].size(), CV_32F, pictures[0].data, pictures[0].step).clone();
        sum.first_seen = pictures[1];
        sum.shown = pictures[2];
        sum.times = pictures[3];
        return sum;
    } catch (const json::exception&) {
        return std::nullopt;
    }
}

}  // namespace slipglass
