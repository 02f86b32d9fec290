#include <fstream>
#include <sstream>

#include "slipglass/error.h"
#include "slipglass/observe.h"

namespace slipglass {

std::vector<SettingField> Settings::fields()
{
    std::vector<SettingField> all;
    appendFields("label", label, all);
    appendFields("tub", tub, all);
    appendFields("panel", panel, all);
    appendFields("roots", roots, all);
    appendFields("parts", parts, all);
    appendFields("water", water, all);
    appendFields("quality", quality, all);
    appendFields("season", season, all);
    appendFields("flags", flags, all);
    return all;
}

Settings readSettingsFile(const std::filesystem::path& path)
{
    std::ifstream in(path, std::ios::binary);
    if (!in) throw Error(path.string(), "cannot be opened", "Check the name, or leave --settings out");
    std::ostringstream text;
    text << in.rdbuf();
    return settingsFrom(text.str(), path.string());
}

Settings settingsFrom(const std::string& text, const std::string& name)
{
    Settings settings;
    readSettings(text, name, settings.fields(), {"tub_types"});
    settings.tub_types = readTubTypes(text, name);
    return settings;
}

}  // namespace slipglass
