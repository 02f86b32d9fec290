#include "slipglass/panel/panel_file.h"

#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "slipglass/photo/picture_bytes.h"

namespace slipglass {

namespace {

constexpr int kFrontalBefore = 255;  // alpha, in seasons of earlier versions

}  // namespace

PanelFile encodePanel(const Panel& panel)
{
    cv::Mat seen;
    cv::vconcat(panel.visible, panel.frontal, seen);
    const std::string picture = jpegBytes(panel.bgr, 92), masks = maskBytes(seen, seen.size());
    const nlohmann::json meta = {{"mm_per_px", panel.unit_per_px},
                                 {"top_mm", panel.top},
                                 {"in_mm", panel.in_mm},
                                 {"base_known", panel.base_known},
                                 {"picture_bytes", picture.size()}};
    return {picture + masks, meta.dump()};
}

namespace {

/// Sets a panel's pictures. False when the bytes are none.
/// @param of_colours  how many of the bytes are the picture's; 0: of a season of an earlier version, which
///                    kept all in one.
bool setPictures(Panel& panel, const std::string& bytes, size_t of_colours)
{
    if (of_colours > bytes.size()) return false;
    const std::string_view all = bytes;
    if (of_colours == 0) {
        const cv::Mat with_alpha = pictureIn(all);
        if (with_alpha.type() != CV_8UC4 || with_alpha.empty()) return false;
        cv::Mat seen;
        cv::cvtColor(with_alpha, panel.bgr, cv::COLOR_BGRA2BGR);
        cv::extractChannel(with_alpha, seen, 3);
        panel.visible = seen > 0;
        panel.frontal = seen == kFrontalBefore;
        return true;
    }
    panel.bgr = pictureIn(all.substr(0, of_colours));
    const cv::Mat seen = pictureIn(all.substr(of_colours));
    const int rows = panel.bgr.rows;
    if (panel.bgr.empty() || panel.bgr.type() != CV_8UC3 || seen.type() != CV_8UC1 ||
        seen.cols != panel.bgr.cols || seen.rows != 2 * rows)
        return false;
    panel.visible = seen.rowRange(0, rows).clone();
    panel.frontal = seen.rowRange(rows, 2 * rows).clone();
    return true;
}

}  // namespace

std::optional<Panel> decodePanel(const PanelFile& file)
{
    const nlohmann::json meta = nlohmann::json::parse(file.meta, nullptr, false);
    const auto is = [&](const char* name, bool (nlohmann::json::*kind)() const noexcept) {
        return meta.is_object() && meta.contains(name) && (meta[name].*kind)();
    };
    if (!is("mm_per_px", &nlohmann::json::is_number) || !is("top_mm", &nlohmann::json::is_number) ||
        !is("in_mm", &nlohmann::json::is_boolean) || !is("base_known", &nlohmann::json::is_boolean))
        return std::nullopt;
    const bool apart = is("picture_bytes", &nlohmann::json::is_number_unsigned);
    Panel panel;
    if (!setPictures(panel, file.bytes, apart ? meta["picture_bytes"].get<size_t>() : 0)) return std::nullopt;
    panel.wall = panel.visible;
    panel.unit_per_px = meta["mm_per_px"];
    panel.top = meta["top_mm"];
    panel.in_mm = meta["in_mm"];
    panel.base_known = meta["base_known"];
    return panel;
}

}  // namespace slipglass
