#include "slipglass/no_memory.h"

#include <cstring>
#include <new>

namespace slipglass {

namespace {

bool isNoMemory(const std::error_code& said)
{
    return said == std::errc::not_enough_memory;
}

}  // namespace

bool saysNoMemory(const std::exception& thrown)
{
    const auto* by_system = dynamic_cast<const std::system_error*>(&thrown);
    return dynamic_cast<const std::bad_alloc*>(&thrown) || (by_system && isNoMemory(by_system->code())) ||
           std::strstr(thrown.what(), "(-4:Insufficient memory)");
}

void throwIfNoMemory(const std::error_code& said)
{
    if (isNoMemory(said)) throw std::bad_alloc();
}

}  // namespace slipglass
