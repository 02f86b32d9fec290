#include "translations.h"

#include "slipglass/embed.h"

// SLIPGLASS_TRANSLATIONS: where the build puts translations/*.po compiled.
SLIPGLASS_EMBED(words_de, SLIPGLASS_TRANSLATIONS "/de.mo")
SLIPGLASS_EMBED(words_es, SLIPGLASS_TRANSLATIONS "/es.mo")

namespace slipglass {

std::string_view translations(const std::string& language)
{
    if (language == "de") return embedded::words_de();
    if (language == "es") return embedded::words_es();
    return {};
}

}  // namespace slipglass
