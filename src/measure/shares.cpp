#include "shares.h"

#include <charconv>
#include <map>
#include <nlohmann/json.hpp>

#include "../words/strict_json.h"

namespace slipglass {

namespace {

using nlohmann::json;

/// Names that belong together, each known by the first of its company.
class Companies {
public:
    std::string firstOf(const std::string& name)
    {
        const auto found = leader_.emplace(name, name).first;
        if (found->second == name) return name;
        return found->second = firstOf(std::string(found->second));
    }
    void join(const std::string& a, const std::string& b)
    {
        const std::string first = firstOf(a), other = firstOf(b);
        leader_[std::max(first, other)] = std::min(first, other);
    }

private:
    std::map<std::string, std::string> leader_;
};

int shareOf(const std::string& name, int of)
{
    const std::string hash = contentHash(name);
    unsigned long long number = 0;
    std::from_chars(hash.data(), hash.data() + hash.size(), number, 16);
    return static_cast<int>(number % static_cast<unsigned long long>(of)) + 1;
}

}  // namespace

TubShare parseTubShare(const std::string& text)
{
    TubShare share{0, 0};
    const char* const end = text.data() + text.size();
    const auto nth = std::from_chars(text.data(), end, share.nth);
    if (nth.ec == std::errc() && nth.ptr != end && *nth.ptr == '/') {
        const auto of = std::from_chars(nth.ptr + 1, end, share.of);
        if (of.ec == std::errc() && of.ptr == end && share.nth >= 1 && share.nth <= share.of &&
            share.of <= 100'000)
            return share;
    }
    throw Error("--part " + text, "is no part of a whole", "Give it as 2/8: the second of eight");
}

Shared ownPhotos(const std::vector<PhotoFile>& files, const std::optional<Plan>& plan,
                 const std::optional<TubShare>& share, const TubList& list)
{
    Shared shared;
    if (!share) {
        shared.own = files;
        return shared;
    }
    Companies together;
    std::vector<Item> items;
    for (const PhotoFile& file : files) {
        Item& item = items.emplace_back();
        item.file = file;
        if (namesItsTub(file, plan)) {
            item.tubs = {*file.named_tub};
        } else if (const auto listed = list.find(file.name); listed != list.end()) {
            item.file.name = listed->second.name;
            item.file.stem = listed->second.stem;
            item.tubs = listed->second.tubs;
        } else {
            throw Error(file.name, "does not name its tub, and is not in the list of tubs",
                        "Run 'slipglass measure --find-tubs LIST' on all photos, and give that list to all "
                        "parts with --tubs");
        }
        for (const std::string& tub : item.tubs) together.join(item.tubs.front(), tub);
    }
    for (size_t i = 0; i < files.size(); ++i) {
        Item& item = items[i];
        const std::string name = item.tubs.empty() ? files[i].name : together.firstOf(item.tubs.front());
        if (shareOf(name, share->of) == share->nth)
            shared.own.push_back(files[i]);
        else
            shared.elsewhere.push_back(std::move(item));
    }
    return shared;
}

std::string textOf(const ShareRecord& record)
{
    if (record.merged) return json{{"merged", true}}.dump();
    return json{{"nth", record.share.nth},     {"of", record.share.of},   {"program", record.program},
                {"settings", record.settings}, {"photos", record.photos}, {"done", record.done}}
        .dump();
}

std::optional<ShareRecord> shareRecordOf(const std::string& text)
{
    const json kept = json::parse(text, nullptr, false);
    if (!kept.is_object()) return std::nullopt;
    try {
        ShareRecord record;
        record.merged = kept.value("merged", false);
        if (!record.merged) record.share = {intIn(kept.at("nth")), intIn(kept.at("of"))};
        record.program = kept.value("program", "");
        record.settings = kept.value("settings", "");
        record.photos = kept.value("photos", "");
        record.done = kept.value("done", false);
        return record;
    } catch (const json::exception&) {  // not written by slipglass
        return std::nullopt;
    }
}

std::string hashOfPhotos(const std::vector<PhotoFile>& files, const TubList& list)
{
    std::string all;
    for (const PhotoFile& file : files) {
        all += file.name + '\n';
        const auto listed = list.find(file.name);
        if (listed == list.end()) continue;
        all += listed->second.content + '\n';
        for (const std::string& tub : listed->second.tubs) all += tub + '\n';
    }
    return contentHash(all);
}

void checkShare(const std::filesystem::path& out, bool new_season, const std::optional<ShareRecord>& held,
                const std::optional<TubShare>& share)
{
    const auto text = [](const TubShare& s) { return std::to_string(s.nth) + "/" + std::to_string(s.of); };
    if (held && !held->merged && held->share != share)
        throw Error(out.string(), "holds part " + text(held->share) + " of a season",
                    "Give --part " + text(held->share) + ", or another --out");
    if (share && !new_season && (!held || held->merged))
        throw Error(out.string(), "holds a whole season", "Give each part an --out of its own");
}

}  // namespace slipglass
