#include "slipglass/no_memory.h"

#include <cstring>
#include <new>
#include <system_error>

namespace slipglass {

bool saysNoMemory(const std::exception& thrown)
{
    const auto* by_system = dynamic_cast<const std::system_error*>(&thrown);
    return dynamic_cast<const std::bad_alloc*>(&thrown) ||
           (by_system && by_system->code() == std::errc::not_enough_memory) ||
           std::strstr(thrown.what(), "(-4:Insufficient memory)");
}

}  // namespace slipglass
