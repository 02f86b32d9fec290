#pragma once
#include <string>

namespace slipglass {

/// This computer's IPv4 address in the local network, "192.0.2.7"; empty when it is in none. Nothing is sent.
std::string ownAddress();

/// Both ends of a connection.
struct Ends {
    std::string address;  ///< of this one's: "192.0.2.7"; empty when it is gone already
    int port = 0;
    bool near = false;  ///< whether the other one is this computer
};
Ends endsOf(int socket);

}  // namespace slipglass
