#include "slipglass/corrections/taught.h"

#include <nlohmann/json.hpp>

#include "../words/strict_json.h"
#include "slipglass/error.h"
#include "slipglass/read_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

constexpr int kSchema = 1;

json orNull(const std::optional<double>& figure)
{
    return figure ? json(*figure) : json();
}

std::optional<double> figureIn(const json& object, const char* key)
{
    const json& value = object.at(key);
    return value.is_null() ? std::nullopt : std::optional(value.get<double>());
}

json asJson(const StrokeAgreement& agreement)
{
    return {{"right", orNull(agreement.right)},
            {"roots_right", orNull(agreement.roots_right)},
            {"rest_right", orNull(agreement.rest_right)},
            {"otherwise", agreement.otherwise}};
}

StrokeAgreement agreementIn(const json& object)
{
    return {figureIn(object, "right"), figureIn(object, "roots_right"), figureIn(object, "rest_right"),
            object.at("otherwise")};
}

Taught taughtIn(const json& text)
{
    Taught taught;
    taught.model = text.at("model");
    taught.layer = {text.at("weights").get<std::vector<double>>(), text.at("bias")};
    taught.caution = text.at("caution");
    for (const json& from : text.at("learnt_from"))
        taught.learnt_from.push_back({from.at("photo"), from.at("tub"), intIn(from.at("root_strokes")),
                                      intIn(from.at("not_root_strokes"))});
    taught.held_out_before = agreementIn(text.at("held_out").at("before"));
    taught.held_out_after = agreementIn(text.at("held_out").at("after"));
    for (const json& photo : text.at("elsewhere"))
        taught.elsewhere.push_back({photo.at("photo"), photo.at("tub"), photo.at("coverage_percent_before"),
                                    photo.at("coverage_percent_after")});
    return taught;
}

}  // namespace

std::string taughtText(const Taught& taught)
{
    json from = json::array(), elsewhere = json::array();
    for (const LearntFrom& photo : taught.learnt_from)
        from.push_back({{"photo", photo.photo},
                        {"tub", photo.tub},
                        {"root_strokes", photo.root_strokes},
                        {"not_root_strokes", photo.not_root_strokes}});
    for (const CoverageChange& photo : taught.elsewhere)
        elsewhere.push_back({{"photo", photo.photo},
                             {"tub", photo.tub},
                             {"coverage_percent_before", photo.before_percent},
                             {"coverage_percent_after", photo.after_percent}});
    const json text = {
        {"schema", kSchema},
        {"model", taught.model},
        {"weights", taught.layer.weights},
        {"bias", taught.layer.bias},
        {"caution", taught.caution},
        {"learnt_from", from},
        {"held_out", {{"before", asJson(taught.held_out_before)}, {"after", asJson(taught.held_out_after)}}},
        {"elsewhere", elsewhere}};
    return text.dump(2, ' ', false, json::error_handler_t::replace) + "\n";
}

std::optional<Taught> readTaught(const std::filesystem::path& file)
{
    if (!std::filesystem::exists(file)) return std::nullopt;
    const std::string bytes = readFile(file);
    try {
        const json text = json::parse(bytes);
        if (text.at("schema") == kSchema) return taughtIn(text);
    } catch (const json::exception&) {  // said below
    }
    throw Error(file.string(), "is not what this slipglass's `teach` writes",
                "Run `slipglass teach` again, or take it away with `slipglass teach DIR --undo`");
}

}  // namespace slipglass
