#include "slipglass/settings.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>
#include <utility>

#include "slipglass/error.h"
#include "slipglass/text.h"
#include "strict_json.h"

namespace slipglass {
namespace {

using nlohmann::json;

/// Levenshtein distance: letters to insert, drop or change.
int editDistance(std::string_view a, std::string_view b)
{
    std::vector<int> row(b.size() + 1);
    std::iota(row.begin(), row.end(), 0);
    for (std::size_t i = 1; i <= a.size(); ++i) {
        int diagonal = std::exchange(row[0], static_cast<int>(i));
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const int change = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
            diagonal = std::exchange(row[j], std::min({change, row[j] + 1, row[j - 1] + 1}));
        }
    }
    return row.back();
}

std::string fullName(const SettingField& field)
{
    return field.group + "." + field.name;
}

bool isGroup(const std::string& key, const std::vector<SettingField>& fields)
{
    return std::any_of(fields.begin(), fields.end(), [&](const auto& f) { return f.group == key; });
}

Error unknownKey(const std::string& file_name, const std::string& key, const std::vector<std::string>& known)
{
    const std::string near = nearestWord(key, known);
    if (!near.empty())
        return {file_name, "unknown setting \"" + key + "\"", "Perhaps \"" + near + "\" is meant"};
    std::string list;
    for (const auto& word : known) list += (list.empty() ? "" : ", ") + word;
    return {file_name, "unknown setting \"" + key + "\"", "Known here: " + list};
}

Error unknownField(const std::string& file_name, const std::string& group, const std::string& name,
                   const std::vector<SettingField>& fields)
{
    std::vector<std::string> here, same_name_elsewhere;
    for (const auto& field : fields) {
        if (field.group == group) here.push_back(fullName(field));
        if (field.name == name) same_name_elsewhere.push_back(fullName(field));
    }
    const std::string key = group + "." + name;
    if (same_name_elsewhere.empty()) return unknownKey(file_name, key, here);
    return {file_name, "unknown setting \"" + key + "\"",
            "Perhaps \"" + same_name_elsewhere[0] + "\" is meant"};
}

Error wrongType(const std::string& file_name, const SettingField& field, const json& value,
                const std::string& wanted)
{
    return {file_name, fullName(field) + " is " + value.dump(-1, ' ', true, json::error_handler_t::replace),
            "Give " + wanted};
}

double numberWithinBounds(const std::string& file_name, const SettingField& field, const json& value)
{
    const double number = value.get<double>();
    if (number >= field.bounds.low && number <= field.bounds.high) return number;
    const std::string range = exactText(field.bounds.low) + ".." + exactText(field.bounds.high);
    throw Error(file_name, fullName(field) + " is " + exactText(number) + ", outside " + range,
                "Give a value within " + range);
}

/// Throws unless `value` suits the field.
void checkValue(const std::string& file_name, const SettingField& field, const json& value)
{
    if (field.yes_no != nullptr) {
        if (!value.is_boolean()) throw wrongType(file_name, field, value, "true or false");
        return;
    }
    if (field.word != nullptr) {
        if (!value.is_string() || !mayBe(field, value.get<std::string>()))
            throw wrongType(file_name, field, value, "one of: " + joined(field.words, ", "));
        return;
    }
    if (!value.is_number()) throw wrongType(file_name, field, value, "a number, without quotes");
    const double number = numberWithinBounds(file_name, field, value);
    if (field.whole != nullptr && number != std::floor(number))
        throw wrongType(file_name, field, value, "a whole number");
}

void set(const SettingField& field, const json& value)
{
    if (field.word != nullptr) *field.word = value.get<std::string>();
    if (field.yes_no != nullptr) *field.yes_no = value.get<bool>();
    if (field.whole != nullptr) *field.whole = static_cast<int>(value.get<double>());
    if (field.number != nullptr) *field.number = value.get<double>();
}

using Changes = std::vector<std::pair<const SettingField*, json>>;

void readGroup(const std::string& file_name, const std::string& group, const json& values,
               const std::vector<SettingField>& fields, Changes& changes)
{
    if (!values.is_object())
        throw Error(file_name, "\"" + group + "\" is not a group of settings",
                    "Write \"" + group + "\": {\"name\": value}");
    for (const auto& [name, value] : values.items()) {
        const auto field = std::find_if(fields.begin(), fields.end(), [&, n = name](const auto& f) {
            return f.group == group && f.name == n;
        });
        if (field == fields.end()) throw unknownField(file_name, group, name, fields);
        checkValue(file_name, *field, value);
        changes.emplace_back(&*field, value);
    }
}

std::vector<std::string> topLevelKeys(const std::vector<SettingField>& fields,
                                      const std::vector<std::string>& other_keys)
{
    std::vector<std::string> keys = other_keys;
    for (const auto& field : fields)
        if (std::find(keys.begin(), keys.end(), field.group) == keys.end()) keys.push_back(field.group);
    return keys;
}

}  // namespace

void readSettings(std::string_view text, const std::string& file_name,
                  const std::vector<SettingField>& fields, const std::vector<std::string>& other_keys)
{
    const json settings = parseStrictJson(text, file_name);
    if (!settings.is_object())
        throw Error(file_name, "is not a JSON object", "Write {\"group\": {\"name\": value}}");
    Changes changes;  // applied only once the whole file has proved good
    for (const auto& [key, values] : settings.items()) {
        if (std::find(other_keys.begin(), other_keys.end(), key) != other_keys.end()) continue;
        if (!isGroup(key, fields)) throw unknownKey(file_name, key, topLevelKeys(fields, other_keys));
        readGroup(file_name, key, values, fields, changes);
    }
    for (const auto& [field, value] : changes) set(*field, value);
}

bool mayBe(const SettingField& field, const std::string& word)
{
    return std::find(field.words.begin(), field.words.end(), word) != field.words.end();
}

std::string exactText(double value)
{
    char buffer[64];
    const auto end = std::to_chars(std::begin(buffer), std::end(buffer), value).ptr;
    return {buffer, end};
}

std::string valueText(const SettingField& field)
{
    if (field.number != nullptr) return exactText(*field.number);
    if (field.whole != nullptr) return std::to_string(*field.whole);
    if (field.word != nullptr) return *field.word;
    return *field.yes_no ? "true" : "false";
}

std::string settingsText(const std::vector<SettingField>& fields)
{
    std::string text;
    for (const auto& field : fields) {
        text += fullName(field) + "=" + valueText(field) + "\n";
    }
    return text;
}

std::string settingsJson(const std::vector<SettingField>& fields)
{
    json settings = json::object();
    for (const auto& field : fields) {
        json& group = settings[field.group];
        if (group.is_null())
            group = json::object();  // made by what follows it would crash where there is no memory
        json& value = group[field.name];
        if (field.number != nullptr) value = *field.number;
        if (field.whole != nullptr) value = *field.whole;
        if (field.yes_no != nullptr) value = *field.yes_no;
        if (field.word != nullptr) value = *field.word;
    }
    return settings.dump();
}

std::string nearestWord(std::string_view word, const std::vector<std::string>& candidates)
{
    // A third of the letters wrong is no slip of the pen any more. Guess.
    int nearest_distance = 1 + std::max<int>(1, static_cast<int>(word.size()) / 3);
    std::string nearest;
    for (const auto& candidate : candidates) {
        const int distance = editDistance(inSmall(std::string(word)), inSmall(std::string(candidate)));
        if (distance >= nearest_distance) continue;
        nearest_distance = distance;
        nearest = candidate;
    }
    return nearest;
}

}  // namespace slipglass
