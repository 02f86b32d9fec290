#include "addresses.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <optional>

namespace slipglass {

namespace {

std::string inWords(const sockaddr_in& address)
{
    std::array<char, INET_ADDRSTRLEN> text{};
    inet_ntop(AF_INET, &address.sin_addr, text.data(), text.size());
    return text.data();
}

/// The address that the way out of this network has. A datagram socket is told where it would send, and sends
/// nothing; that address is one of those kept for documents.
std::string onTheWayOut()
{
    const int out = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (out < 0) return {};
    sockaddr_in there{}, here{};
    there.sin_family = AF_INET;
    there.sin_port = htons(9);
    inet_pton(AF_INET, "198.51.100.1", &there.sin_addr);
    socklen_t size = sizeof here;
    const bool found = connect(out, reinterpret_cast<const sockaddr*>(&there), sizeof there) == 0 &&
                       getsockname(out, reinterpret_cast<sockaddr*>(&here), &size) == 0;
    close(out);
    return found ? inWords(here) : "";
}

/// For a network without a way out.
std::string firstThatIsUp()
{
    ifaddrs* all = nullptr;
    if (getifaddrs(&all) != 0) return {};
    std::string found;
    for (const ifaddrs* one = all; one != nullptr && found.empty(); one = one->ifa_next)
        if (one->ifa_addr != nullptr && one->ifa_addr->sa_family == AF_INET &&
            (one->ifa_flags & IFF_UP) != 0 && (one->ifa_flags & IFF_LOOPBACK) == 0)
            found = inWords(*reinterpret_cast<const sockaddr_in*>(one->ifa_addr));
    freeifaddrs(all);
    return found;
}

/// The address of one end of a connection, as getsockname or getpeername tells it.
std::optional<sockaddr_in> endOf(int socket, int (*asks)(int, sockaddr*, socklen_t*))
{
    sockaddr_in address{};
    socklen_t size = sizeof address;
    if (asks(socket, reinterpret_cast<sockaddr*>(&address), &size) != 0 || address.sin_family != AF_INET)
        return std::nullopt;
    return address;
}

}  // namespace

Ends endsOf(int socket)
{
    const auto here = endOf(socket, getsockname), there = endOf(socket, getpeername);
    if (!here || !there) return {};
    return {inWords(*here), ntohs(here->sin_port), ntohl(there->sin_addr.s_addr) >> 24 == IN_LOOPBACKNET};
}

std::string ownAddress()
{
    const std::string found = onTheWayOut();
    return found.empty() || found.starts_with("127.") ? firstThatIsUp() : found;
}

}  // namespace slipglass
