#include "keys.h"

#include <sys/random.h>

#include <algorithm>
#include <cerrno>
#include <stdexcept>

namespace slipglass {

namespace {

const std::string kUrlSafe = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
/// For who types it: no letter that looks like another.
const std::string kEasyToType = "abcdefghijkmnpqrstuvwxyz23456789";
constexpr std::size_t kKeyLetters = 32;   // of 6 bits: 192
constexpr std::size_t kCodeLetters = 12;  // of 5 bits: 60, for minutes and a few tries
constexpr std::size_t kInvitations = 8;

std::string newKey()
{
    return randomText(kKeyLetters, kUrlSafe);
}

}  // namespace

std::string randomText(std::size_t letters, const std::string& alphabet)
{
    if (alphabet.size() != 64 && alphabet.size() != 32)
        throw std::invalid_argument("alphabet of 64 or 32 letters");
    std::string text(letters, '\0');
    for (std::size_t have = 0; have < letters;) {
        const ssize_t got = getrandom(text.data() + have, letters - have, 0);
        if (got < 0 && errno != EINTR) throw std::runtime_error("the system gives no random bytes");
        if (got > 0) have += static_cast<std::size_t>(got);
    }
    for (char& c : text) c = alphabet[static_cast<unsigned char>(c) % alphabet.size()];
    return text;
}

bool sameSecret(const std::string& a, const std::string& b)
{
    if (a.size() != b.size()) return false;
    volatile unsigned char differ = 0;
    for (std::size_t i = 0; i < a.size(); ++i) differ = differ | static_cast<unsigned char>(a[i] ^ b[i]);
    return differ == 0;
}

Keys::Keys(std::chrono::seconds invitation_lasts, unsigned wrong_per_minute)
    : lasts_(invitation_lasts), wrong_per_minute_(wrong_per_minute), own_(newKey())
{
}

Guest Keys::whoHas(const std::string& key, bool near) const
{
    const std::lock_guard lock(mutex_);
    bool device = false;
    for (const std::string& one : devices_) device |= sameSecret(key, one);
    if (sameSecret(key, own_) && near) return Guest::this_computer;
    return device ? Guest::device : Guest::nobody;
}

std::string Keys::invite(Clock::time_point now)
{
    std::string code = randomText(kCodeLetters, kEasyToType);
    const std::lock_guard lock(mutex_);
    invitations_.push_back({code, now + lasts_});
    if (invitations_.size() > kInvitations) invitations_.pop_front();
    return code;
}

Keys::Joined Keys::join(const std::string& code, Clock::time_point now)
{
    const std::lock_guard lock(mutex_);
    while (!wrong_.empty() && now - wrong_.front() >= std::chrono::minutes(1)) wrong_.pop_front();
    if (wrong_.size() >= wrong_per_minute_) return {{}, true};
    auto found = invitations_.end();
    for (auto it = invitations_.begin(); it != invitations_.end(); ++it)
        if (sameSecret(it->code, code)) found = it;
    const bool good = found != invitations_.end() && now < found->until;
    if (found != invitations_.end()) invitations_.erase(found);
    if (!good) {
        wrong_.push_back(now);
        return {};
    }
    devices_.push_back(newKey());
    return {devices_.back()};
}

}  // namespace slipglass
