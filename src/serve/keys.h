#pragma once
#include <chrono>
#include <cstddef>
#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace slipglass {

/// So many letters that nobody can guess, each one of `alphabet`'s 64 or 32.
std::string randomText(std::size_t letters, const std::string& alphabet);

/// Whether both are the same, found in a time that does not tell where they differ.
bool sameSecret(const std::string& a, const std::string& b);

enum class Guest { nobody, this_computer, device };

/// Who may come in. Safe to use from several threads.
class Keys {
public:
    using Clock = std::chrono::steady_clock;
    Keys(std::chrono::seconds invitation_lasts, unsigned wrong_per_minute);

    const std::string& own() const { return own_; }
    /// @param near  asked from this computer; its own key is good for nobody else.
    Guest whoHas(const std::string& key, bool near) const;

    std::string invite(Clock::time_point now);
    struct Joined {
        std::string key;        ///< the device's own from now on; empty: not let in
        bool too_many = false;  ///< wrong codes of late; even a right one must wait, and stays good
    };
    Joined join(const std::string& code, Clock::time_point now);

private:
    struct Invitation {
        std::string code;
        Clock::time_point until;
    };
    const std::chrono::seconds lasts_;
    const unsigned wrong_per_minute_;
    const std::string own_;
    mutable std::mutex mutex_;
    std::vector<std::string> devices_;
    std::deque<Invitation> invitations_;
    std::deque<Clock::time_point> wrong_;
};

}  // namespace slipglass
