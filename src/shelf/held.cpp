#include "held.h"

#include "slipglass/read_file.h"

namespace slipglass {

namespace fs = std::filesystem;

std::string heldText(const fs::path& file, const std::optional<Given::File>& given, bool waits)
{
    const bool own = waits || !given || isOwn(given->name, file);
    if (own && fs::exists(file)) return readFile(file);
    return given ? given->text : "";  // a file that was thrown away holds until another is given
}

}  // namespace slipglass
