#include "uploads.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <vector>

#include "keys.h"
#include "slipglass/serve/server.h"

namespace slipglass {

namespace fs = std::filesystem;

namespace {

const std::string kBegins = "upload-", kEnds = ".part";
const std::string kInNames = "abcdefghijkmnpqrstuvwxyz23456789";

bool isUpload(const fs::directory_entry& entry)
{
    const std::string name = entry.path().filename().string();
    return entry.symlink_status().type() == fs::file_type::regular && name.starts_with(kBegins) &&
           name.ends_with(kEnds);
}

void removeLeft(const fs::path& folder)
{
    std::vector<fs::path> left;
    for (const auto& entry : fs::directory_iterator(folder))
        if (isUpload(entry)) left.push_back(entry.path());
    for (const fs::path& path : left) fs::remove(path);
}

}  // namespace

UploadFolder::UploadFolder(const fs::path& folder) : path_(fs::absolute(folder)), held_(-1)
{
    try {
        fs::create_directories(path_);
        held_ = open(path_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        if (access(path_.c_str(), W_OK | X_OK) != 0 || held_ < 0)
            throw fs::filesystem_error("no", std::error_code(errno, std::generic_category()));
        // A file system that knows no locks is served without one.
        if (flock(held_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK)
            throw InUse(path_.string(), "is in use by another slipglass",
                        "End that one first, or use its page");
        removeLeft(path_);
    } catch (const fs::filesystem_error& problem) {
        if (held_ >= 0) close(held_);
        throw Error(path_.string(), "cannot be used for uploads: " + problem.code().message(),
                    "Give a folder that can be written to");
    } catch (...) {
        if (held_ >= 0) close(held_);
        throw;
    }
}

UploadFolder::~UploadFolder()
{
    close(held_);
}

Upload::Upload(const UploadFolder& folder)
    : path_(folder.path() / (kBegins + randomText(16, kInNames) + kEnds)),
      file_(open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666)),
      sound_(file_ >= 0)
{
}

Upload::~Upload()
{
    const bool made = file_ >= 0 || finished_;
    if (file_ >= 0) close(file_);
    if (made) unlink(path_.c_str());
}

void Upload::add(const char* bytes, std::size_t count)
{
    while (sound_ && count > 0) {
        const ssize_t written = write(file_, bytes, count);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) {
            sound_ = false;
            return;
        }
        bytes += written;
        count -= static_cast<std::size_t>(written);
    }
}

bool Upload::finish()
{
    if (file_ < 0) return finished_ && sound_;
    // Before it is moved: a season must not come to hold the name of a file without its content.
    sound_ = fdatasync(file_) == 0 && sound_;
    sound_ = close(file_) == 0 && sound_;
    file_ = -1;
    finished_ = true;
    return sound_;
}

}  // namespace slipglass
