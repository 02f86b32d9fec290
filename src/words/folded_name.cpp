#include "slipglass/folded_name.h"

#include <glib.h>

#include <memory>
#include <new>

#include "slipglass/text.h"

namespace slipglass {

std::string foldedName(const std::string& name)
{
    using Text = std::unique_ptr<char, decltype(&g_free)>;
    const Text folded(g_utf8_casefold(validUtf8(name).c_str(), -1), g_free);
    const Text whole(g_utf8_normalize(folded.get(), -1, G_NORMALIZE_DEFAULT_COMPOSE), g_free);
    if (!whole) throw std::bad_alloc();
    return whole.get();
}

}  // namespace slipglass
