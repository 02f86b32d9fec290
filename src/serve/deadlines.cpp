#include "deadlines.h"

#include <sys/socket.h>

#include <algorithm>

namespace slipglass {

Deadlines::Deadlines() : thread_([this] { watch(); }) {}

Deadlines::~Deadlines()
{
    {
        const std::lock_guard lock(mutex_);
        over_ = true;
    }
    changed_.notify_one();
    thread_.join();
}

void Deadlines::set(int socket, Clock::time_point by)
{
    const std::lock_guard lock(mutex_);
    by_[socket] = by;
    if (by < next_) changed_.notify_one();
}

void Deadlines::forget(int socket)
{
    const std::lock_guard lock(mutex_);
    by_.erase(socket);
}

void Deadlines::watch()
{
    std::unique_lock lock(mutex_);
    while (!over_) {
        const auto now = Clock::now();
        next_ = now + std::chrono::hours(1);
        for (auto& [socket, by] : by_)
            if (by <= now) {
                shutdown(socket, SHUT_RDWR);
                by = kNever;
            } else {
                next_ = std::min(next_, by);
            }
        changed_.wait_until(lock, next_);
    }
}

}  // namespace slipglass
