#include "care_json.h"

namespace slipglass {

namespace {

Json sentences(const Text& text)
{
    Json list = Json::array();
    for (const Said& one : text) list.push_back(english(one));
    return list;
}

constexpr int kWeightDecimals = 1, kLevelDecimals = 2;

Json fallJson(const LevelFall& fall)
{
    return {{"from", date(fall.from)},
            {"to", date(fall.to)},
            {"mm_per_day", number(fall.mm_per_day, kLevelDecimals)},
            {"most_mm_per_day", number(fall.most_mm_per_day, kLevelDecimals)},
            {"at_least", fall.at_least}};
}

Json tubJson(const WaterBehaviour& tub)
{
    Json json{{"tub", tub.tub},
              {"medium", tub.medium},
              {"photos", tub.photos},
              {"photos_standing", tub.photos_standing},
              {"fall_mm_per_day", number(tub.fall_mm_per_day, kLevelDecimals)},
              {"fall_at_least", tub.fall_at_least},
              {"waterings", tub.waterings},
              {"tipped_out", tub.tipped_out},
              {"watered_onto_water", tub.watered_onto_water},
              {"after_watering", tub.after_watering},
              {"standing_after_watering", tub.standing_after_watering},
              {"never_dry", tub.never_dry},
              {"watered_too_often", tub.watered_too_often},
              {"says", sentences(tub.says)}};
    json["falls"] = Json::array();
    for (const LevelFall& fall : tub.falls) json["falls"].push_back(fallJson(fall));
    return json;
}

}  // namespace

Json careJson(const std::vector<CareEvent>& care)
{
    Json list = Json::array();
    for (const CareEvent& event : care)
        list.push_back({{"date", date(event.date)},
                        {"what", careText(event.what)},
                        {"amount_ml", number(event.amount_ml, kWeightDecimals)},
                        {"weight_g", number(event.weight_g, kWeightDecimals)},
                        {"note", event.note}});
    return list;
}

Json weightJson(const std::vector<Weighing>& weight)
{
    Json list = Json::array();
    for (const Weighing& weighing : weight)
        list.push_back({{"date", date(weighing.date)},
                        {"weight_g", number(weighing.weight_g, kWeightDecimals)},
                        {"g_per_day", number(weighing.g_per_day, kWeightDecimals)},
                        {"interrupted", weighing.interrupted}});
    return list;
}

Json partJson(const Series& series, const Observation& seen)
{
    const PartFigures* part = partOf(seen, series.tub_parts, series.part);
    if (!part) return nullptr;
    return {{"shared_root_mm", number(part->shared_root_mm, 1)},
            {"meets_next_mm", number(part->meets_next_mm, 1)}};
}

Json waterJson(const std::vector<WaterBehaviour>& tubs)
{
    Json list = Json::array();
    for (const WaterBehaviour& tub : tubs) list.push_back(tubJson(tub));
    return list;
}

Json mediaJson(const std::vector<MediumWater>& media)
{
    Json list = Json::array();
    for (const MediumWater& medium : media)
        list.push_back({{"medium", medium.medium},
                        {"tubs", medium.tubs},
                        {"photos", medium.photos},
                        {"photos_standing", medium.photos_standing},
                        {"falls", medium.falls},
                        {"fall_mm_per_day", number(medium.fall_mm_per_day, kLevelDecimals)},
                        {"fall_at_least", medium.fall_at_least},
                        {"never_dry", medium.never_dry},
                        {"says", medium.says}});
    return list;
}

}  // namespace slipglass
