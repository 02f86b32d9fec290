// A fuzzer of one reader: libFuzzer's way in. SLIPGLASS_READER is its name in readers.h.
#include <cstddef>

#include "readers.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    slipglass::fuzz::SLIPGLASS_READER({data, size});
    return 0;
}
