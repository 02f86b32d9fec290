#include "told_address.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <nlohmann/json.hpp>
#include <thread>

#include "slipglass/shelf/shelf.h"

namespace slipglass {

namespace fs = std::filesystem;
using Json = nlohmann::json;

namespace {

constexpr int kTries = 20;  // of 100 ms: it may just be starting

/// A folder in a network may be served from another computer, whose processes are not ours.
std::string computer()
{
    std::array<char, 256> name{};
    gethostname(name.data(), name.size() - 1);
    return name.data();
}

bool isOurs(int file)
{
    struct stat about {};
    return fstat(file, &about) == 0 && S_ISREG(about.st_mode) && about.st_uid == geteuid() &&
           (about.st_mode & (S_IRWXG | S_IRWXO)) == 0;
}

/// As long as a shelf runs it holds the folder of what is sent.
bool isHeld(const fs::path& uploads)
{
    const int folder = open(uploads.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0) return false;
    const bool held = flock(folder, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
    close(folder);
    return held;
}

/// What a shelf tells that is still there.
std::string toldIn(const fs::path& path)
{
    const int file = open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (file < 0) return "";
    std::array<char, 4096> text{};
    const ssize_t size = isOurs(file) ? read(file, text.data(), text.size()) : -1;
    close(file);
    if (size <= 0) return "";
    const Json told = Json::parse(text.data(), text.data() + size, nullptr, false);
    const bool whole = told.is_object() && told.contains("address") && told["address"].is_string() &&
                       told.contains("process") && told["process"].is_number_integer() &&
                       told.value("computer", Json()) == computer();
    if (!whole || kill(told["process"].get<pid_t>(), 0) != 0) return "";
    return told["address"];
}

}  // namespace

ToldAddress::ToldAddress(const SeasonFolder& folder, const std::string& address) : file_(folder.running())
{
    std::error_code none;
    fs::remove(file_, none);
    const int file =
        open(file_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, S_IRUSR | S_IWUSR);
    if (file < 0) return;  // it serves all the same
    const Json told{{"address", address}, {"process", getpid()}, {"computer", computer()}};
    const std::string text = told.dump(-1, ' ', false, Json::error_handler_t::replace);
    const bool written =
        isOurs(file) && write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size());
    close(file);
    if (!written) fs::remove(file_, none);
}

ToldAddress::~ToldAddress()
{
    std::error_code none;
    fs::remove(file_, none);
}

std::optional<std::string> runningShelf(const fs::path& season)
{
    const SeasonFolder folder{season};
    for (int tries = 0; tries < kTries && isHeld(folder.uploads()); ++tries) {
        const std::string address = toldIn(folder.running());
        if (!address.empty()) return address;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
    return std::nullopt;
}

}  // namespace slipglass
