#include "earlier_views.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "slipglass/panel/panel_file.h"
#include "slipglass/roots/wall_history.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// The first three words of a photo's key: content, figures' key, corrections that move what others see.
std::string madeOf(const std::string& key)
{
    size_t end = 0;
    for (int i = 0; i < 3 && end != std::string::npos; ++i) end = key.find(' ', end + 1);
    return key.substr(0, end);
}

}  // namespace

std::string madeOf(const Item& item, const std::string& figures_key)
{
    // Strokes say what is root, and leave panel and light as they are.
    std::string moved;
    for (auto [tub, correction] : item.corrections) {
        correction.strokes.clear();
        if (!correction.empty()) moved += tub + '\n' + correctionText(correction);
    }
    return item.content + ' ' + figures_key + ' ' + (moved.empty() ? "-" : contentHash(moved));
}

std::optional<EarlierView> earlierView(const KeptView& kept, const SeasonStore& store)
{
    try {
        const json meta = json::parse(kept.meta);
        const auto way = driftIn(meta.at("view"));
        if (!way) return std::nullopt;
        const json& side = meta.at("side");
        const auto number = [&](const char* name) {
            return meta.at(name).is_null() ? std::nullopt : std::optional<double>(meta.at(name));
        };
        EarlierView view;
        view.place = {
            side.at("id"), {side.at("size").at(0).get<int>(), side.at("size").at(1).get<int>()}, *way};
        view.light = {number("wall_lightness"), number("white"), meta.at("against_label")};
        view.root_share = meta.at("root_share");
        const std::string panel = meta.at("panel");
        view.in_mm = json::parse(panel).at("in_mm");
        view.panel = [&store, photo = kept.photo, tub = kept.tub, panel] {
            return decodePanel({store.panel(photo, tub), panel});
        };
        return view;
    } catch (const json::exception&) {
        return std::nullopt;
    }
}

EarlierViews::EarlierViews(const std::vector<Item>& items, const SeasonStore& store,
                           const std::string& figures_key,
                           const std::function<std::string(const std::string& tub)>& basis)
{
    std::set<std::string> listed;
    for (const Item& item : items) {
        if (item.problem) continue;  // what is kept of it counts, as of a photo that is gone
        listed.insert(item.file.name);
        for (const std::string& tub : item.tubs)
            tubs_[tub].push_back(
                {*item.taken, item.file.name, madeOf(item, figures_key), Sight::settled, {}});
    }
    for (const Observation& seen : store.observations()) {
        const auto tub = tubs_.find(seen.tub);
        if (tub == tubs_.end() || listed.count(seen.photo)) continue;
        const std::string made_of = madeOf(store.photo(seen.photo)->key);
        if (figures_key.empty() || made_of.find(' ' + figures_key + ' ') != std::string::npos)
            tub->second.push_back({seen.taken, seen.photo, made_of, Sight::settled, {}});
    }
    for (auto& [tub, sights] : tubs_) {
        std::sort(sights.begin(), sights.end(), [](const Sight& a, const Sight& b) {
            return std::tie(a.taken, a.photo) < std::tie(b.taken, b.photo);
        });
        for (const KeptView& kept : store.views(tub)) {
            const json meta = json::parse(kept.meta, nullptr, false);
            const bool same =
                meta.is_object() && (basis(tub).empty() || meta.value("basis", "") == basis(tub));
            for (Sight& sight : sights)
                if (same && sight.photo == kept.photo) sight.view = earlierView(kept, store);
        }
    }
}

std::string EarlierViews::before(const std::string& tub, const std::string& photo) const
{
    std::string all;
    for (const Sight& sight : tubs_.at(tub)) {
        if (sight.photo == photo) break;
        all += sight.made_of + '\n';
    }
    return contentHash(all);
}

std::vector<EarlierView> EarlierViews::views(const std::string& tub, const std::string& photo) const
{
    std::vector<EarlierView> earlier;
    std::unique_lock lock(mutex_);
    for (const Sight& sight : tubs_.at(tub)) {
        if (sight.photo == photo) break;
        settled_.wait(lock, [&] { return sight.state != Sight::expected; });
        if (sight.state == Sight::abandoned) throw Abandoned{};
        if (sight.view) earlier.push_back(*sight.view);
    }
    return earlier;
}

EarlierViews::Sight& EarlierViews::find(const std::string& tub, const std::string& photo)
{
    for (Sight& sight : tubs_.at(tub))
        if (sight.photo == photo) return sight;
    throw std::logic_error(photo + " is no photo of " + tub);
}

void EarlierViews::expect(const Item& item)
{
    const std::scoped_lock lock(mutex_);
    for (const std::string& tub : item.tubs) find(tub, item.file.name).state = Sight::expected;
}

void EarlierViews::settle(const std::string& tub, const std::string& photo,
                          const std::optional<EarlierView>& view)
{
    const std::scoped_lock lock(mutex_);
    Sight& sight = find(tub, photo);
    sight.view = view;
    sight.state = Sight::settled;
    settled_.notify_all();
}

void EarlierViews::settleAsKept(const std::string& tub, const std::string& photo)
{
    const std::scoped_lock lock(mutex_);
    find(tub, photo).state = Sight::settled;
    settled_.notify_all();
}

void EarlierViews::leave(const Item& item)
{
    const std::scoped_lock lock(mutex_);
    for (const std::string& tub : item.tubs)
        if (Sight& sight = find(tub, item.file.name); sight.state == Sight::expected)
            sight.state = Sight::abandoned;
    settled_.notify_all();
}

}  // namespace slipglass
