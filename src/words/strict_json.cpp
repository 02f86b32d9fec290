#include "strict_json.h"

#include <algorithm>
#include <limits>
#include <set>
#include <vector>

#include "slipglass/error.h"

namespace slipglass {
namespace {

using nlohmann::json;

/// "line 3, column 7" of the byte at `offset`, both from 1; a column counts bytes.
std::string placeOf(std::string_view text, std::size_t offset)
{
    const std::string_view before = text.substr(0, std::min(offset, text.size()));
    const auto line = 1 + std::count(before.begin(), before.end(), '\n');
    const auto line_start = before.rfind('\n');
    const auto column = before.size() - (line_start == std::string_view::npos ? 0 : line_start + 1);
    return "line " + std::to_string(line) + ", column " + std::to_string(std::max<std::size_t>(1, column));
}

/// Notes the first key that an object holds twice; the parser itself would keep the last and say nothing.
class KeyWatch {
public:
    bool operator()(int /*depth*/, json::parse_event_t event, json& parsed)
    {
        if (event == json::parse_event_t::object_start) open_.emplace_back();
        if (event == json::parse_event_t::object_end) open_.pop_back();
        if (event == json::parse_event_t::key) note(parsed.get_ref<const std::string&>());
        return true;
    }
    const std::string& repeated() const { return repeated_; }

private:
    void note(const std::string& key)
    {
        if (!open_.back().insert(key).second && repeated_.empty()) repeated_ = key;
    }
    std::vector<std::set<std::string>> open_;
    std::string repeated_;
};

}  // namespace

bool isTooDeep(std::string_view text)
{
    constexpr int kDeepest = 100;
    int depth = 0;
    bool quoted = false;
    for (size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (c == '"') quoted = !quoted;
        if (quoted && c == '\\') ++i;
        if (quoted) continue;
        if (c == '[' || c == '{') ++depth;
        if (c == ']' || c == '}') --depth;
        if (depth > kDeepest) return true;
    }
    return false;
}

json parseStrictJson(std::string_view text, const std::string& file_name)
{
    if (isTooDeep(text))
        throw Error(file_name, "has more brackets within brackets than anything needs",
                    "Take out what does not belong there");
    KeyWatch watch;
    json parsed;
    try {
        parsed = json::parse(text.begin(), text.end(), std::ref(watch));
    } catch (const json::parse_error& broken) {
        throw Error(file_name, "is not valid JSON at " + placeOf(text, broken.byte),
                    "Look there for a missing or extra comma, quote or bracket");
    } catch (const json::out_of_range&) {
        throw Error(file_name, "holds a number too large for a computer's arithmetic", "Give a smaller one");
    }
    if (!watch.repeated().empty())
        throw Error(file_name, "gives \"" + watch.repeated() + "\" twice in one place",
                    "Keep one of the two");
    return parsed;
}

int intIn(const json& value)
{
    const auto number = value.get<double>();
    if (!(number >= std::numeric_limits<int>::min() && number <= std::numeric_limits<int>::max()))
        throw json::out_of_range::create(406, "no int holds " + value.dump(), &value);
    return static_cast<int>(number);
}

}  // namespace slipglass
