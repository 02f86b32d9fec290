#include "page_parts.h"

#include <glib.h>

#include <algorithm>
#include <array>
#include <memory>

#include "page_files.h"
#include "plain_words.h"
#include "slipglass/report/writers.h"

namespace slipglass {

namespace {

/// What a content rule names an inline style or script by.
std::string hashOf(const std::string& text)
{
    const std::unique_ptr<GChecksum, decltype(&g_checksum_free)> sum(g_checksum_new(G_CHECKSUM_SHA256),
                                                                     g_checksum_free);
    g_checksum_update(sum.get(), reinterpret_cast<const guchar*>(text.data()),
                      static_cast<gssize>(text.size()));
    std::array<guint8, 32> bytes{};
    gsize size = bytes.size();
    g_checksum_get_digest(sum.get(), bytes.data(), &size);
    const std::unique_ptr<char, decltype(&g_free)> base64(g_base64_encode(bytes.data(), size), g_free);
    return std::string("sha256-") + base64.get();
}

/// With the parts that it calls by {{>name}} in their places.
std::string withParts(std::string skeleton)
{
    for (size_t at = skeleton.find("{{>"); at != std::string::npos; at = skeleton.find("{{>", at)) {
        const size_t end = skeleton.find("}}", at);
        skeleton.replace(at, end + 2 - at, page_file::parts().at(skeleton.substr(at + 3, end - at - 3)));
    }
    return skeleton;
}

}  // namespace

PageData emptyList()
{
    return PageData{PageData::type::list};
}

std::string addressOf(const std::string& path, const std::string& folder)
{
    const std::string below = std::filesystem::path(path).lexically_relative(folder).generic_string();
    const std::unique_ptr<char, decltype(&g_free)> escaped(g_uri_escape_string(below.c_str(), "/", FALSE),
                                                           g_free);
    return escaped.get();
}

Skeleton::Skeleton(const std::string& skeleton, const std::string& script, const Words& words)
    : page_(words.inSkeleton(withParts(skeleton)))
{
    const std::string style = page_file::style(), said = words.ofScript(script);
    all_.set("lang", words.language());
    all_.set("script_words", said.empty() ? PageData{false} : PageData{said});
    all_.set("style", style);
    all_.set("style_hash", hashOf(style));
    all_.set("script", script);
    all_.set("script_hash", hashOf(script));
}

std::string Skeleton::pageOf(PageData& data, const std::string& title) const
{
    data.set("title", validUtf8(title));
    kainjow::mustache::context<std::string> both(&all_);
    both.push(&data);
    // Where there is no memory a string says so; a stream of strings would end the page in its middle.
    struct Page {
        std::string text;
        Page& operator<<(const std::string& more)
        {
            text += more;
            return *this;
        }
    } page;
    return page_.render(both, page).text;
}

std::string inlineSvg(const std::string& svg, const std::string& of)
{
    const std::string end = "</svg>";
    const size_t from = svg.find("<svg");
    std::string text = svg.substr(from, svg.rfind(end) + end.size() - from);
    const std::string name = "text-clipping";  // PLplot's, of its places in itself
    for (size_t at = text.find(name); !of.empty() && at != std::string::npos;
         at = text.find(name, at + of.size() + name.size()))
        text.insert(at, of);
    return text;
}

std::string severityClass(Severity severity)
{
    std::string text = severityText(severity);
    std::replace(text.begin(), text.end(), ' ', '-');
    return text;
}

bool isAbout(const Need& need, const std::string& cutting)
{
    return need.cuttings.empty() ||
           std::find(need.cuttings.begin(), need.cuttings.end(), cutting) != need.cuttings.end();
}

PageData needData(const Need& need, const Words& words)
{
    PageData item;
    item.set("severity_class", severityClass(need.severity));
    item.set("action", validUtf8(capitalised(words.say(need.what))));
    item.set("words", validUtf8(words.say(need.why)));
    item.set("flag", validUtf8(flagWords(need.flag, words)));
    item.set("kind", need.flag);
    PageData since{false};
    if (need.since) {
        since = PageData{};
        since.set("iso", isoDate(*need.since));
        since.set("day", words.shortDay(*need.since));
    }
    item.set("since", since);
    item.set("evidence", validUtf8(words.say(need.evidence)));
    item.set("advice", validUtf8(words.say(need.advice)));
    item.set("cuttings",
             need.cuttings.empty() ? PageData{false} : PageData{validUtf8(joined(need.cuttings, ", "))});
    return item;
}

const PhotoPictures& picturesOf(const SeriesPoint& point, const PicturesThere& pictures)
{
    static const PhotoPictures kNone;
    const auto found = pictures.photos.find({point.seen.photo, point.seen.tub});
    return found == pictures.photos.end() ? kNone : found->second;
}

const SeriesPoint* latestWith(const Series& series, const PicturesThere& pictures,
                              std::string PhotoPictures::*picture)
{
    const auto found = std::find_if(
        series.points.rbegin(), series.points.rend(),
        [&](const SeriesPoint& point) { return !(picturesOf(point, pictures).*picture).empty(); });
    return found == series.points.rend() ? nullptr : &*found;
}

std::string pictureWords(const Observation& seen, const SeasonSettings& settings, const Words& words)
{
    const std::vector<SaidPlace> which{{"tub", seen.tub}, {"date", seen.taken.date}};
    if (seen.state == State::retake) return words("Tub {tub} on {date}, which could not be measured", which);
    std::string text = words("Tub {tub} on {date}", which);
    if (seen.coverage_percent)
        text += "; " + words("roots cover: {coverage}", {{"coverage", coverageWords(seen, settings, words)}});
    if (seen.standing_water || seen.water_level_mm)
        text += "; " + words("water at the base: {water}", {{"water", waterWords(seen, words)}});
    return text;
}

const SeriesPoint* latestWater(const Series& series)
{
    const auto known =
        std::find_if(series.points.rbegin(), series.points.rend(), [](const SeriesPoint& point) {
            return usable(point.seen) && (point.seen.standing_water || point.seen.water_level_mm);
        });
    return known == series.points.rend() ? nullptr : &*known;
}

std::string whenNotLatest(const Series& series, const SeriesPoint& point, const Words& words)
{
    const Date day = point.seen.taken.date;
    return day == *series.latest_photo ? "" : words("on {date}", {{"date", words.shortDay(day)}});
}

std::string tubWords(const PlannedCutting& cutting, const Words& words)
{
    return cutting.tub == cutting.cutting ? "" : words("tub {tub}", {{"tub", cutting.tub}});
}

std::string aboutCutting(const Series& series, const Words& words)
{
    const PlannedCutting& cutting = series.cutting;
    std::string text = joined({cutting.variety, tubWords(cutting, words), cutting.position, cutting.medium,
                               cutting.treatment, cutting.note},
                              "; ");
    if (cutting.stuck_on)
        text += (text.empty() ? "" : ". ") + words("Stuck on {date}", {{"date", *cutting.stuck_on}});
    return text.empty() ? text : text + ".";
}

PageData newestData(const std::optional<Date>& day, const Words& words)
{
    if (!day) return PageData{false};
    PageData newest;
    newest.set("iso", isoDate(*day));
    newest.set("day", words.day(*day));
    return newest;
}

std::string ageWords(const Series& series, const Words& words)
{
    if (!series.days_since_stuck) return "";
    return words.numbered(std::max(0, *series.days_since_stuck), "{n} day", "{n} days");
}

}  // namespace slipglass
