#include "slipglass/panel/panel_file.h"

#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace slipglass {

namespace {

constexpr int kFrontal = 255, kSlanting = 128;  // alpha of what is visible

}  // namespace

PanelFile encodePanel(const Panel& panel)
{
    cv::Mat with_alpha, seen;
    cv::bitwise_and(panel.visible, kSlanting, seen);
    seen.setTo(kFrontal, panel.frontal);
    const std::vector<cv::Mat> parts = {panel.bgr, seen};
    with_alpha.create(panel.bgr.size(), CV_8UC4);
    cv::mixChannels(parts, std::vector<cv::Mat>{with_alpha}, {0, 0, 1, 1, 2, 2, 3, 3});
    std::vector<uchar> bytes;
    cv::imencode(".webp", with_alpha, bytes, {cv::IMWRITE_WEBP_QUALITY, 95});
    const nlohmann::json meta = {{"mm_per_px", panel.unit_per_px},
                                 {"top_mm", panel.top},
                                 {"in_mm", panel.in_mm},
                                 {"base_known", panel.base_known}};
    return {std::string(bytes.begin(), bytes.end()), meta.dump()};
}

std::optional<Panel> decodePanel(const PanelFile& file)
{
    const nlohmann::json meta = nlohmann::json::parse(file.meta, nullptr, false);
    const auto is = [&](const char* name, bool (nlohmann::json::*kind)() const noexcept) {
        return meta.is_object() && meta.contains(name) && (meta[name].*kind)();
    };
    if (!is("mm_per_px", &nlohmann::json::is_number) || !is("top_mm", &nlohmann::json::is_number) ||
        !is("in_mm", &nlohmann::json::is_boolean) || !is("base_known", &nlohmann::json::is_boolean))
        return std::nullopt;
    const std::vector<uchar> bytes(file.bytes.begin(), file.bytes.end());
    const cv::Mat with_alpha = bytes.empty() ? cv::Mat() : cv::imdecode(bytes, cv::IMREAD_UNCHANGED);
    if (with_alpha.empty() || with_alpha.type() != CV_8UC4) return std::nullopt;
    Panel panel;
    cv::cvtColor(with_alpha, panel.bgr, cv::COLOR_BGRA2BGR);
    cv::Mat seen;
    cv::extractChannel(with_alpha, seen, 3);
    panel.visible = seen > 0;
    panel.frontal = seen == kFrontal;
    panel.wall = panel.visible;
    panel.unit_per_px = meta["mm_per_px"];
    panel.top = meta["top_mm"];
    panel.in_mm = meta["in_mm"];
    panel.base_known = meta["base_known"];
    return panel;
}

}  // namespace slipglass
