#pragma once
#include <cstddef>
#include <functional>

namespace slipglass {

/// Calls `work(i)` for 0..count-1 on so many threads, 0 = one per core; the first exception ends the rest and
/// is thrown on.
void inParallel(std::size_t count, int threads, const std::function<void(std::size_t)>& work);

}  // namespace slipglass
