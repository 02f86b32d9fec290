#include <map>

#include "slipglass/error.h"
#include "slipglass/observe.h"
#include "slipglass/read_file.h"

namespace slipglass {

namespace {

/// Two settings of which the first must not be above the second.
struct Ordered {
    const char *lower, *upper;
};
constexpr Ordered kOrdered[] = {
    {"quality.retake_px_per_mm", "quality.caution_px_per_mm"},
    {"quality.retake_sharpness", "quality.caution_sharpness"},
    {"quality.retake_lightness", "quality.caution_lightness"},
    {"quality.caution_burnt_percent", "quality.retake_burnt_percent"},
    {"quality.caution_glare_percent", "quality.retake_glare_percent"},
    {"quality.least_in_frame", "quality.caution_in_frame"},
    {"tub.min_confidence", "quality.caution_confidence"},
    {"flags.no_roots_days", "flags.likely_failed_days"},
};

void checkTogether(Settings settings, const std::string& name)
{
    std::map<std::string, double> values;
    for (const SettingField& field : settings.fields())
        if (field.number || field.whole)
            values[field.group + "." + field.name] = field.number ? *field.number : *field.whole;
    for (const auto& [lower, upper] : kOrdered)
        if (values.at(lower) > values.at(upper))
            throw Error(name,
                        std::string(lower) + " is " + exactText(values.at(lower)) + ", above " + upper +
                            ", " + exactText(values.at(upper)),
                        "Change one of the two");
}

}  // namespace

std::vector<SettingField> Settings::measuringFields()
{
    std::vector<SettingField> all;
    appendFields("label", label, all);
    appendFields("tub", tub, all);
    appendFields("panel", panel, all);
    appendFields("roots", roots, all);
    appendFields("water", water, all);
    appendFields("quality", quality, all);
    return all;
}

std::vector<SettingField> Settings::fields()
{
    std::vector<SettingField> all = measuringFields();
    appendFields("photos", photos, all);
    const std::vector<SettingField> verdicts = verdictFields();
    appendFields("parts", parts, all);
    all.insert(all.end(), verdicts.begin(), verdicts.end());
    return all;
}

Settings readSettingsFile(const std::filesystem::path& path)
{
    return settingsFrom(readFile(path), path.string());
}

Settings settingsFrom(const std::string& text, const std::string& name)
{
    Settings settings;
    readSettings(text, name, settings.fields(), {"tub_types"});
    settings.tub_types = readTubTypes(text, name);
    checkTogether(settings, name);
    return settings;
}

}  // namespace slipglass
