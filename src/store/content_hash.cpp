#include "slipglass/store/content_hash.h"

#include <xxhash.h>

#include <cstdio>

namespace slipglass {

std::string contentHash(std::string_view bytes)
{
    char text[20];
    std::snprintf(text, sizeof text, "%016llx",
                  static_cast<unsigned long long>(XXH3_64bits(bytes.data(), bytes.size())));
    return text;
}

}  // namespace slipglass
