#include "slipglass/in_parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <new>
#include <system_error>
#include <thread>
#include <vector>

namespace slipglass {

void inParallel(size_t count, int threads, const std::function<void(size_t)>& work)
{
    if (threads < 1) threads = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
    std::atomic<size_t> next{0};
    std::exception_ptr failure;
    std::mutex failing;
    const auto run = [&] {
        for (size_t i = next++; i < count; i = next++) {
            try {
                work(i);
            } catch (...) {
                const std::lock_guard lock(failing);
                if (!failure) failure = std::current_exception();
                next = count;
            }
        }
    };
    std::vector<std::thread> pool;
    try {
        for (int t = 1; t < threads && static_cast<size_t>(t) < count; ++t) pool.emplace_back(run);
    } catch (const std::system_error&) {
        // The computer has no more to give; those that there are do all of it.
    } catch (const std::bad_alloc&) {
        // Likewise.
    }
    run();
    for (std::thread& thread : pool) thread.join();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace slipglass
