#pragma once
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace slipglass {

/// Lowest and highest value a setting may take, both allowed.
struct Bounds {
    double low, high;
};

// A settings struct names its fields once, for reading, checking, printing, hashing and docs/settings.md
// alike. What a field means ends with where its default comes from:
//
//     struct StandingSettings {
//         double standing_mm = 2.0;
//
//         template <class Self, class Visit>
//         static void fields(Self& self, Visit&& visit)
//         {
//             visit("standing_mm", self.standing_mm, Bounds{0.1, 50},
//                   "Level from which water is said to stand, mm. Common practice: less is a drained tub's
//                   last drop.");
//         }
//     };
//
// Fields are double, int, bool or one of some words (visit("name", self.field, {"a", "b"}, "...")). The key
// in settings.json is "<group>": {"<field>": value}.

/// One field of a settings struct, to be read or written by name.
struct SettingField {
    std::string group, name;
    double* number = nullptr;  ///< exactly one of these three and `word` is set
    int* whole = nullptr;
    bool* yes_no = nullptr;
    Bounds bounds{0, 1};
    std::string meaning{};
    std::string* word = nullptr;
    std::vector<std::string> words{};  ///< that it may be
};

/// All fields of `settings` under the key `group`.
template <class S>
void appendFields(const std::string& group, S& settings, std::vector<SettingField>& to)
{
    struct Visitor {
        const std::string& group;
        std::vector<SettingField>& to;
        void operator()(const char* name, double& v, Bounds b, const char* meaning = "")
        {
            to.push_back({group, name, &v, nullptr, nullptr, b, meaning});
        }
        void operator()(const char* name, int& v, Bounds b, const char* meaning = "")
        {
            to.push_back({group, name, nullptr, &v, nullptr, b, meaning});
        }
        void operator()(const char* name, bool& v, const char* meaning = "")
        {
            to.push_back({group, name, nullptr, nullptr, &v, {0, 1}, meaning});
        }
        void operator()(const char* name, std::string& v, std::initializer_list<const char*> words,
                        const char* meaning = "")
        {
            to.push_back(
                {group, name, nullptr, nullptr, nullptr, {0, 1}, meaning, &v, {words.begin(), words.end()}});
        }
    };
    S::fields(settings, Visitor{group, to});
}

/// Sets the fields named in the JSON `text` of the file `file_name`.
/// `other_keys`: top-level keys that somebody else reads ("tub_types").
/// Throws Error naming the file, the key with the nearest known one, or the value and the bound it breaks.
void readSettings(std::string_view text, const std::string& file_name,
                  const std::vector<SettingField>& fields, const std::vector<std::string>& other_keys);

/// "group.name=value" lines in the order given; equal text means equal settings. Locale-free, round-trip
/// exact.
std::string settingsText(const std::vector<SettingField>& fields);

/// The fields as the text of a settings file, which readSettings reads back to the same values.
std::string settingsJson(const std::vector<SettingField>& fields);

/// Whether a word is one that the field may be.
bool mayBe(const SettingField& field, const std::string& word);

/// A number, a word or yes or no as the settings file has it.
std::string valueText(const SettingField& field);
/// The shortest text that reads back as the same number, '.' as decimal point in every locale.
std::string exactText(double value);

/// The candidate nearest to `word` by edit distance; empty when none is near enough to be a slip of the pen.
std::string nearestWord(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace slipglass
