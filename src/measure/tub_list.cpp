#include "tub_list.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string_view>

#include "slipglass/read_file.h"
#include "slipglass/store/write_file.h"

namespace slipglass {

namespace {

using nlohmann::json;

json asJson(const std::string& file, const ListedPhoto& photo)
{
    json row = {{"file", file},
                {"photo", photo.name},
                {"stem", photo.stem},
                {"content", photo.content},
                {"labels", photo.labels ? json(*photo.labels) : json()},
                {"tubs", photo.tubs}};
    if (const auto& p = photo.problem) row["problem"] = {p->file, p->tub, p->state, p->reason, p->remedy};
    return row;
}

ListedPhoto photoFrom(const json& row)
{
    ListedPhoto photo{row.at("photo"), row.at("stem"), row.at("content"), {}, row.at("tubs"), {}};
    if (!row.at("labels").is_null()) photo.labels = row.at("labels").get<std::vector<std::string>>();
    if (row.contains("problem")) {
        const json& p = row.at("problem");
        photo.problem = Problem{p.at(0), p.at(1), p.at(2), p.at(3), p.at(4)};
    }
    return photo;
}

}  // namespace

void writeTubList(const std::filesystem::path& file, const TubList& list)
{
    // A line a photo, so that two lists can be compared.
    std::string text;
    for (const auto& [name, photo] : list)
        text += asJson(name, photo).dump(-1, ' ', false, json::error_handler_t::replace) + "\n";
    writeFile(file, text);
}

TubList readTubList(const std::filesystem::path& file)
{
    constexpr std::uintmax_t kMost = std::uintmax_t{1} << 30;  // millions of photos
    const std::string text = readFile(file, kMost);
    TubList list;
    int number = 0;
    for (size_t from = 0; from < text.size();) {
        const size_t end = std::min(text.find('\n', from), text.size());
        ++number;
        try {
            const json row = json::parse(std::string_view(text).substr(from, end - from));
            list[row.at("file")] = photoFrom(row);
        } catch (const json::exception&) {
            throw Error(file.string(), "line " + std::to_string(number) + " is no line of a list of tubs",
                        "Make the list anew with 'slipglass measure --find-tubs'");
        }
        from = end + 1;
    }
    return list;
}

}  // namespace slipglass
