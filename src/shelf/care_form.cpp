#include "care_form.h"

#include <nlohmann/json.hpp>

#include "diary.h"
#include "slipglass/error.h"

namespace slipglass {

using Json = nlohmann::json;

namespace {

constexpr std::chrono::days kLately{2};

Json number(const std::optional<double>& value)
{
    return value ? Json(*value) : Json();
}

/// Of a form, where a number may come as what was typed.
std::string typedIn(const Json& body, const char* name)
{
    const auto at = body.find(name);
    if (at == body.end() || at->is_null()) return "";
    return at->is_string() ? at->get<std::string>() : at->dump();
}

}  // namespace

Json eventJson(const CareEvent& event)
{
    return {{"tub", event.tub},
            {"what", careText(event.what)},
            {"amount_ml", number(event.amount_ml)},
            {"weight_g", number(event.weight_g)},
            {"note", event.note},
            {"cutting", event.cutting},
            {"date", isoDate(event.date)}};
}

CareEvent eventIn(const Json& body, Date today)
{
    return careFrom(
        {typedIn(body, "tub"), typedIn(body, "what"), typedIn(body, "amount_ml"), typedIn(body, "weight_g"),
         typedIn(body, "note"), typedIn(body, "cutting"), typedIn(body, "date")},
        today);
}

Json lately(const std::string& text, Date today)
{
    Json all = Json::array();
    if (text.empty()) return all;
    try {
        const CareLog log = parseCare(text, "care.csv", today);
        for (auto event = log.events.rbegin(); event != log.events.rend(); ++event)
            if (event->date <= today &&
                std::chrono::sys_days(event->date) >= std::chrono::sys_days(today) - kLately)
                all.push_back(eventJson(*event));
    } catch (const Error&) {
        return Json::array();
    }
    return all;
}

}  // namespace slipglass
