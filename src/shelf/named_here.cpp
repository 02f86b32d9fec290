#include "named_here.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "slipglass/error.h"
#include "slipglass/photo/list_photos.h"

namespace slipglass {

using Json = nlohmann::json;

NamedHere::NamedHere(const SeasonFolder& folder, const ShelfOptions& options, Work& work, GivenHere& given)
    : folder_(folder), options_(options), work_(work), given_(given)
{
}

void NamedHere::check(const std::string& photo) const
{
    ownPhotoOrError(folder_, photo);
    if (work_.tubsOn(photo).size() > 1)
        throw Error(photo, "shows several tubs, and its name can tell one alone",
                    "Put the tubs' labels right, or cut it into a photo of each tub");
}

Response NamedHere::asked(const std::string& photo) const
{
    check(photo);
    return jsonResponse({{"photo", photo}});
}

Response NamedHere::name(const std::string& photo, const std::string& tub)
{
    const std::lock_guard lock(naming_);
    check(photo);
    const auto tubs = work_.tubsOn(photo);
    const std::string now = nameTub(folder_, photo, tub, options_.today(), given_.photoLimits());
    changes_.push_back({photo, now, tubs.empty() ? "" : *tubs.begin(), saysNoTub(now) ? kNoTub : tub});
    given_.photoRenamed({photo, changes_.back().tub_before}, now, saysNoTub(now) ? "" : tub);
    work_.wake(Work::Given::photos);
    return jsonResponse({{"photo", now}});
}

Response NamedHere::takeBack(const std::string& photo)
{
    const std::lock_guard lock(naming_);
    const auto last =
        std::find_if(changes_.rbegin(), changes_.rend(), [&](const Change& one) { return one.now == photo; });
    if (last == changes_.rend())
        throw Error(photo, "has not been given another tub since this shelf began",
                    "Choose its tub on its cutting's page");
    const std::string now = giveName(folder_, photo, last->before);
    given_.photoRenamed({photo, last->tub}, now, last->tub_before);
    changes_.erase(std::next(last).base());
    work_.wake(Work::Given::photos);
    return jsonResponse({{"photo", now}});
}

Json NamedHere::lately() const
{
    const std::lock_guard lock(naming_);
    Json all = Json::array();
    for (auto one = changes_.rbegin(); one != changes_.rend(); ++one)
        if (ownPhoto(folder_, one->now))  // else another change came after it
            all.push_back({{"photo", one->now}, {"tub", one->tub}, {"tub_before", one->tub_before}});
    return all;
}

}  // namespace slipglass
