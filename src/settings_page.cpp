#include <algorithm>
#include <map>

#include "slipglass/observe.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

constexpr const char* kBeforeTables = R"md(# Settings

Written by `slipglass settings --markdown`, which knows them; change this page there.

    slipglass measure photos --settings settings.json --out season

A JSON file that names only what you want changed. A key that is not known is an error that names the nearest known one;
so is a value out of bounds. It [holds](season.md#given-once) until another file is given. Changing a setting measures the
photos anew that it concerns; changing `season`, `flags`, `parts`, `pages` or `water.standing_mm` opens no photo.

```json
{
  "flags": { "no_roots_days": 35 },
  "water": { "standing_mm": 3 },
  "tub_types": [
    { "name": "pint", "rim_diameter_mm": 98, "base_diameter_mm": 76, "height_mm": 105, "wall_mm": 0.7 }
  ]
}
```

Where a default comes from stands at the end of each line: measured, common practice, or a guess.

## Tub types
)md";

constexpr const char* kAfterTypes =
    R"md( are built in (rim, base and height outside, mm; wall, mm). Tubs sold by one name
differ by some mm, and the scale is only as good as these sizes: measure one of yours, outside, in mm, and name it in the
plan's column `tub_type`. `wall_mm` may be left out (0.8). A type of yours named `quart` takes the place of ours.
)md";

struct Group {
    const char *name, *about;
};
constexpr Group kGroups[] = {
    {"photos", "Which photos are opened. Changing these opens only photos that are not measured yet."},
    {"label", "Labels that do not say their own size."},
    {"tub", "Finding the tub."},
    {"panel", "The unrolled wall."},
    {"roots", "Telling roots from grains."},
    {"parts",
     "Several cuttings in a tub, each with its own part of the wall. Changing these opens no photo."},
    {"water", "Standing water. Changing `standing_mm` opens no photo."},
    {"quality", "When a photo is measured with caution, or has to be taken again."},
    {"season",
     "When a cutting has struck, and when it can be potted up: [season.md](season.md#has-it-struck)."},
    {"flags", "When a flag is raised: [season.md](season.md#the-flags)."},
    {"pages",
     "How the pages are read. Files (CSV, JSON) stay English and in mm. Changing these opens no photo."},
    {"tables", "How CSV files are written: [files.md](files.md#formulas). Changing these opens no photo."},
};

std::string typesText()
{
    std::string text;
    for (const TubType& type : shippedTubTypes()) {
        if (!text.empty()) text += " and ";
        text += "`" + type.name + "` (" + exactText(type.rim_diameter_mm) + ", " +
                exactText(type.base_diameter_mm) + ", " + exactText(type.height_mm) + "; " +
                exactText(type.wall_mm) + ")";
    }
    return text;
}

std::string boundsText(const SettingField& field)
{
    if (field.yes_no != nullptr) return "true, false";
    if (field.word != nullptr) return joined(field.words, ", ");
    return exactText(field.bounds.low) + " to " + exactText(field.bounds.high);
}

/// "docs/measured/water.md" as a link of a page in docs.
std::string withLinks(const std::string& text)
{
    const std::string folder = "docs/", ending = ".md";
    std::string linked;
    size_t from = 0;
    for (size_t at = text.find(folder); at != std::string::npos; at = text.find(folder, from)) {
        const size_t name = at + folder.size(), end = text.find(ending, name) + ending.size();
        const std::string page = text.substr(name, end - name);
        linked.append(text, from, at - from);
        linked.append("[").append(page).append("](").append(page).append(")");
        from = end;
    }
    return linked + text.substr(from);
}

}  // namespace

std::string settingsPage(bool markdown)
{
    Settings settings;
    const std::vector<SettingField> fields = settings.fields();
    std::string page;
    if (markdown) page = kBeforeTables + typesText() + kAfterTypes;
    for (const Group& group : kGroups) {
        if (markdown)
            page += "\n## `" + std::string(group.name) + "`\n" + group.about +
                    "\n\n| setting | default | allowed | meaning |\n|---|---|---|---|\n";
        for (const SettingField& field : fields) {
            if (field.group != group.name || field.meaning.empty()) continue;
            if (markdown)
                page += "| `" + field.name + "` | " + valueText(field) + " | " + boundsText(field) + " | " +
                        withLinks(field.meaning) + " |\n";
            else
                page += field.group + "." + field.name + " = " + valueText(field) + "  (" +
                        boundsText(field) + ")\n    " + field.meaning + "\n";
        }
    }
    return page;
}

}  // namespace slipglass
