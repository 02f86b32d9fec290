#include "slipglass/no_memory.h"

#include <cstring>
#include <new>

namespace slipglass {

bool saysNoMemory(const std::exception& thrown)
{
    return dynamic_cast<const std::bad_alloc*>(&thrown) ||
           std::strstr(thrown.what(), "(-4:Insufficient memory)");
}

}  // namespace slipglass
