#include "slipglass/serve/server.h"

#include <fcntl.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstring>
#include <mutex>
#include <new>
#include <stdexcept>

#include "addresses.h"
#include "answers.h"
#include "deadlines.h"
#include "reception.h"
#include "slipglass/error.h"
#include "slipglass/text.h"

namespace slipglass {

namespace {

using Clock = Deadlines::Clock;

/// Room for the head of a request, and for what is read of a body at once.
constexpr std::size_t kConnectionBytes = 32 << 10;

using MadeResponse = std::unique_ptr<MHD_Response, decltype(&MHD_destroy_response)>;

void check(int port)
{
    // Below 1024 is for the system's own; at 80 a browser's Host names no port.
    if (port != 0 && (port < 1024 || port > 65535))
        throw Error("port " + std::to_string(port), "is outside 1024..65535",
                    "Give another, or 0 for any that is free");
}

std::string decoded(std::string text)
{
    text.resize(MHD_http_unescape(text.data()));
    return text;
}

int socketOf(MHD_Connection* connection)
{
    return MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd;
}

/// What is kept of a connection: the request that it is at. The connection's and not the request's, since
/// libmicrohttpd 0.9.75 does not tell the end of a request that it gave up twice, as one with more in its
/// query than it has room for.
using Kept = std::unique_ptr<Exchange>;

/// Null where there was no memory for it.
Kept* keptOf(MHD_Connection* connection)
{
    return static_cast<Kept*>(
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT)->socket_context);
}

MHD_Result takeHeader(void* into, MHD_ValueKind, const char* name, size_t name_size, const char* value,
                      size_t value_size) noexcept
{
    Head& head = *static_cast<Head*>(into);
    const std::string key = inSmall({name, name_size}),
                      said = value != nullptr ? std::string(value, value_size) : "";
    if (key == "host") head.hosts.push_back(said);
    if (key == "origin") head.origins.push_back(said);
    if (key == "content-type") head.types.push_back(said);
    if (key == "content-length") head.lengths.push_back(said);
    if (key == "transfer-encoding") head.in_pieces = true;
    return MHD_YES;
}

MHD_Result takeQuery(void* into, MHD_ValueKind, const char* name, size_t name_size, const char* value,
                     size_t value_size) noexcept
{
    static_cast<Head*>(into)->query.emplace(std::string(name, name_size),
                                            value != nullptr ? std::string(value, value_size) : "");
    return MHD_YES;
}

/// All that is to be known of a request before its body.
void readHead(MHD_Connection* connection, const char* method, Head& head)
{
    head.method = method;
    if (head.target) head.target->path = decoded(head.target->path);
    head.came_to = endsOf(socketOf(connection));
    MHD_get_connection_values_n(connection, MHD_HEADER_KIND, takeHeader, &head);
    MHD_get_connection_values_n(connection, MHD_GET_ARGUMENT_KIND, takeQuery, &head);
}

/// The body as the library sends it; empty when a file is named that cannot be read.
MadeResponse madeOf(const Response& response)
{
    if (response.file.empty())
        return {MHD_create_response_from_buffer(response.body.size(), const_cast<char*>(response.body.data()),
                                                MHD_RESPMEM_MUST_COPY),
                MHD_destroy_response};
    struct stat about {};
    const int file = open(response.file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file >= 0 && fstat(file, &about) == 0 && S_ISREG(about.st_mode))
        return {MHD_create_response_from_fd64(static_cast<uint64_t>(about.st_size), file),
                MHD_destroy_response};
    if (file >= 0) close(file);
    return {nullptr, MHD_destroy_response};
}

}  // namespace

class Server::Running {
public:
    Running(const ServerPlace& place, const ServerLimits& limits, Handler handler);
    ~Running() { stop(); }
    Running(const Running&) = delete;
    Running& operator=(const Running&) = delete;

    void stop();
    std::string invitation();
    std::string address() { return at("127.0.0.1") + reception_.keys().own() + "/"; }
    int port() const { return port_; }

private:
    static void connected(void* self, MHD_Connection* connection, void** kept,
                          MHD_ConnectionNotificationCode what);
    static void* began(void* self, const char* target, MHD_Connection* connection);
    static MHD_Result goesOn(void* self, MHD_Connection* connection, const char* path, const char* method,
                             const char* version, const char* bytes, size_t* count, void**);
    static void ended(void* self, MHD_Connection* connection, void**, MHD_RequestTerminationCode why);

    MHD_Result next(MHD_Connection* connection, const char* method, Exchange& exchange, const char* bytes,
                    size_t& count);
    MHD_Result send(MHD_Connection* connection, const Response& response);
    /// From now on; cut off at once where there is no memory to watch it.
    void watch(MHD_Connection* connection) noexcept;

    std::string at(const std::string& address) const
    {
        return "http://" + address + ":" + std::to_string(port_) + "/";
    }
    /// By when so many bytes must have gone.
    Clock::time_point due(Clock::time_point since, std::size_t bytes = 0) const;

    const bool lan_;
    const ServerLimits limits_;
    Reception reception_;
    Deadlines deadlines_;
    std::mutex stopping_;
    int port_ = 0;
    MHD_Daemon* daemon_ = nullptr;
};

Server::Running::Running(const ServerPlace& place, const ServerLimits& limits, Handler handler)
    : lan_(place.lan), limits_(limits), reception_((check(place.port), place), limits, std::move(handler))
{
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<uint16_t>(place.port));
    address.sin_addr.s_addr = htonl(place.lan ? INADDR_ANY : INADDR_LOOPBACK);
    // A thread a connection: one that waits for its handler holds up no other.
    daemon_ = MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL | MHD_USE_ITC, 0,
        nullptr, nullptr, goesOn, this, MHD_OPTION_SOCK_ADDR, &address, MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_URI_LOG_CALLBACK, began, this, MHD_OPTION_NOTIFY_COMPLETED, ended, this,
        MHD_OPTION_NOTIFY_CONNECTION, connected, this, MHD_OPTION_CONNECTION_LIMIT, limits.connections,
        MHD_OPTION_PER_IP_CONNECTION_LIMIT, limits.connections_per_address,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, kConnectionBytes, MHD_OPTION_END);
    if (daemon_ == nullptr)
        throw Error("port " + std::to_string(place.port),
                    std::string("cannot be served: ") + std::strerror(errno),
                    "Give another, or 0 for any that is free");
    port_ = MHD_get_daemon_info(daemon_, MHD_DAEMON_INFO_BIND_PORT)->port;
}

void Server::Running::stop()
{
    const std::lock_guard lock(stopping_);
    if (daemon_ != nullptr) MHD_stop_daemon(daemon_);
    daemon_ = nullptr;
}

std::string Server::Running::invitation()
{
    if (!lan_) throw std::logic_error("an invitation to a server that only this computer reaches");
    const std::string address = ownAddress();
    if (address.empty())
        throw Error("invitation", "this computer is in no local network",
                    "Join one, a phone's hotspot for instance");
    return at(address) + "join/" + reception_.keys().invite(Clock::now());
}

Clock::time_point Server::Running::due(Clock::time_point since, std::size_t bytes) const
{
    return since + std::chrono::seconds(limits_.idle_s) +
           std::chrono::milliseconds(bytes * 1000 / limits_.slowest_bytes_per_s);
}

void Server::Running::watch(MHD_Connection* connection) noexcept
{
    try {
        deadlines_.set(socketOf(connection), due(Clock::now()));
    } catch (...) {
        shutdown(socketOf(connection), SHUT_RDWR);
    }
}

// What follows is called by the library, from a thread of each connection. It is C: nothing may be thrown
// through it.

void Server::Running::connected(void* self, MHD_Connection* connection, void** kept,
                                MHD_ConnectionNotificationCode what)
{
    Running& server = *static_cast<Running*>(self);
    if (what == MHD_CONNECTION_NOTIFY_STARTED) {
        *kept = new (std::nothrow) Kept;
        server.watch(connection);
    } else {
        server.deadlines_.forget(socketOf(connection));
        delete static_cast<Kept*>(*kept);
    }
}

// Text behind a NUL in the target is not seen: libmicrohttpd 0.9.75, Debian 12's, gives it as a C string here
// and everywhere, says nowhere how long it was, and lets it pass though told to be strict (later ones have
// MHD_OPTION_CLIENT_DISCIPLINE_LVL). What is left is checked like any other, so no more can be asked by it.
void* Server::Running::began(void*, const char* target, MHD_Connection* connection)
{
    try {
        auto exchange = std::make_unique<Exchange>();
        exchange->head.target = targetOf(target);
        if (Kept* const kept = keptOf(connection)) *kept = std::move(exchange);
    } catch (...) {
        // Without, goesOn cuts the connection.
    }
    return nullptr;
}

void Server::Running::ended(void* self, MHD_Connection* connection, void**, MHD_RequestTerminationCode)
{
    if (Kept* const kept = keptOf(connection)) kept->reset();
    static_cast<Running*>(self)->watch(connection);
}

MHD_Result Server::Running::goesOn(void* self, MHD_Connection* connection, const char*, const char* method,
                                   const char*, const char* bytes, size_t* count, void**)
{
    const Kept* const kept = keptOf(connection);
    if (kept == nullptr || *kept == nullptr) return MHD_NO;
    try {
        return static_cast<Running*>(self)->next(connection, method, **kept, bytes, *count);
    } catch (...) {
        return MHD_NO;  // cuts the connection
    }
}

/// Called with the head, then with each piece of the body, then once more without.
MHD_Result Server::Running::next(MHD_Connection* connection, const char* method, Exchange& exchange,
                                 const char* bytes, size_t& count)
{
    const int socket = socketOf(connection);
    if (!exchange.head_seen) {
        exchange.head_seen = true;
        deadlines_.set(socket, due(Clock::now()));
        readHead(connection, method, exchange.head);
        const auto answer = reception_.atHead(exchange);
        return answer ? send(connection, *answer) : MHD_YES;
    }
    if (count > 0) {
        reception_.take(exchange, bytes, count);
        count = 0;
        // Since it began, or a slow sender had new time with each byte.
        deadlines_.set(socket, due(exchange.body_began, exchange.received));
        return MHD_YES;
    }
    deadlines_.set(socket, Deadlines::kNever);
    return send(connection, reception_.atEnd(exchange));
}

MHD_Result Server::Running::send(MHD_Connection* connection, const Response& response)
{
    const MadeResponse made = madeOf(response);
    if (!made) return response.file.empty() ? MHD_NO : send(connection, nothingThere());
    for (const auto& [name, value] : headersOf(response))
        if (MHD_add_response_header(made.get(), name.c_str(), value.c_str()) != MHD_YES)
            return send(connection, somethingWentWrong());
    std::error_code none;
    const auto bytes =
        response.file.empty() ? response.body.size() : std::filesystem::file_size(response.file, none);
    deadlines_.set(socketOf(connection), due(Clock::now(), none ? 0 : bytes));
    return MHD_queue_response(connection, static_cast<unsigned>(response.status), made.get());
}

Server::Server(const ServerPlace& place, const ServerLimits& limits, Handler handler)
    : running_(std::make_unique<Running>(place, limits, std::move(handler)))
{
}

Server::~Server() = default;
int Server::port() const
{
    return running_->port();
}
std::string Server::address() const
{
    return running_->address();
}
std::string Server::invitation()
{
    return running_->invitation();
}
void Server::stop()
{
    running_->stop();
}

}  // namespace slipglass
