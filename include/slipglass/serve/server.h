#pragma once
#include <cstddef>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>

#include "slipglass/error.h"

namespace slipglass {

/// What a page or a phone asks for, once it was let in: its head has been checked.
struct Request {
    std::string method;  ///< GET, POST or PUT; HEAD comes as GET, and what is answered is not sent
    /// Decoded once, below the key, begins with '/'; UTF-8 without control characters, backslash, empty or
    /// dotted parts. It may name what is not there.
    std::string path;
    std::map<std::string, std::string> query;  ///< decoded, UTF-8; of a name given twice, the first
    bool from_this_computer = false;           ///< else from a device that came by an invitation
    std::string body;                          ///< of a POST
    /// The body of a PUT: a whole file on the disk in ServerPlace::uploads. Moved away it is the handler's;
    /// else it is removed once the answer has gone.
    std::filesystem::path upload;
    std::size_t upload_bytes = 0;
};

struct Response {
    int status = 200;
    std::string type = "text/plain; charset=utf-8";
    std::string body;
    std::filesystem::path file;  ///< sent instead of `body` when set; 404 when it cannot be read
    /// Content-Security-Policy (else nothing may be loaded or run) and Cache-Control (else no-store) are the
    /// handler's to give; what else the server sends to keep a page safe cannot be changed.
    std::map<std::string, std::string> headers;
};

/// Called from the server's threads, at most ServerLimits::handlers at once: it must be safe to call so. What
/// it throws becomes a 500 without a word of why. Answers 404 and 405 itself. What takes long belongs in a
/// thread of its own. It must not stop the server.
using Handler = std::function<Response(const Request&)>;

struct ServerLimits {
    std::size_t body_bytes = 1 << 20;
    std::size_t upload_bytes = 200 << 20;
    unsigned connections = 64;              ///< more are closed at once, or wait for one to end
    unsigned connections_per_address = 32;  ///< more are closed at once; a browser keeps six of them open
    unsigned handlers = 4;
    int idle_s = 30;  ///< a head must be whole after so long, and so long a connection may do nothing
    std::size_t slowest_bytes_per_s = 8 << 10;  ///< a body or an answer that goes slower is cut off
    int invitation_s = 600;
    unsigned wrong_codes_per_minute = 10;  ///< of all devices together; then none is let in for a while
};

struct ServerPlace {
    int port = 0;      ///< 0: any that is free
    bool lan = false;  ///< reached from the local network too, else from this computer only
    /// Folder for uploads, made when it is not there; in the season's file system, so that one can be moved
    /// into the season whole. What an earlier run that ended amid an upload left there is removed. One server
    /// at a time has it.
    std::filesystem::path uploads;
};

/// Another server has the folder for uploads.
class InUse : public Error {
    using Error::Error;
};

/// Serves what `handler` answers over HTTP, until it goes. Nobody is let in but by a key, which every path
/// begins with. This computer's is new at each start and good from this computer only; a device gets its own
/// by an invitation, good until the server stops. Whatever lacks a key or is wrong otherwise gets a plain
/// line, and the handler does not see it. The local network can read what is sent in it: nothing is
/// encrypted.
///
/// No other site's page can send anything: Host must be the address that the request came to (or localhost),
/// a POST or PUT must have that address as its Origin, and a POST no type that a form sends. So pages send
/// with fetch() in its default mode, since in another a browser may leave the Origin out. A body's length
/// must be told ahead.
class Server {
public:
    /// Throws Error when the port is taken or not one of 0, 1024..65535, or `uploads` cannot be used; InUse
    /// when another server has it.
    Server(const ServerPlace& place, const ServerLimits& limits, Handler handler);
    ~Server();
    Server(const Server&) = delete;
    Server& operator=(const Server&) = delete;

    int port() const;
    /// http://127.0.0.1:PORT/KEY/ : for this computer's own browser, nobody else.
    std::string address() const;
    /// http://ADDRESS:PORT/join/CODE : lets one device in, once, for some minutes; a new one each time. Of
    /// many the last eight hold. Throws Error when this computer is in no local network; only with
    /// ServerPlace::lan.
    std::string invitation();
    /// Ends when the handlers that run have ended; uploads that are not whole are dropped.
    void stop();

private:
    class Running;
    std::unique_ptr<Running> running_;
};

}  // namespace slipglass
