#pragma once
#include <chrono>
#include <condition_variable>
#include <map>
#include <mutex>
#include <thread>

namespace slipglass {

/// Cuts off who takes too long: each connection has a time by which its next step must be done. What the
/// library times is silence, and a sender of one byte now and then is never silent.
class Deadlines {
public:
    using Clock = std::chrono::steady_clock;
    static constexpr Clock::time_point kNever = Clock::time_point::max();

    Deadlines();
    ~Deadlines();
    Deadlines(const Deadlines&) = delete;
    Deadlines& operator=(const Deadlines&) = delete;

    /// The socket is shut down, not closed, if this is not put off by then.
    void set(int socket, Clock::time_point by);
    /// Before the socket is closed, since its number can be another's then.
    void forget(int socket);

private:
    void watch();

    std::mutex mutex_;
    std::condition_variable changed_;
    bool over_ = false;
    std::map<int, Clock::time_point> by_;
    Clock::time_point next_ = kNever;
    std::thread thread_;
};

}  // namespace slipglass
