#include "slipglass/read_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "slipglass/error.h"

namespace slipglass {

namespace {

/// An open file, closed when it goes.
struct Descriptor {
    int number;
    ~Descriptor() { close(number); }
};

[[noreturn]] void cannotOpen(const std::filesystem::path& path, int reason)
{
    if (reason == ENOENT) throw Error(path.string(), "there is no such file", "Check its name");
    throw Error(path.string(), "cannot be opened: " + std::generic_category().message(reason),
                "Check its name, and that you may read it");
}

void requireRegular(const std::filesystem::path& path, const struct stat& is, std::uintmax_t most)
{
    if (S_ISDIR(is.st_mode)) throw Error(path.string(), "is a folder, not a file", "Name a file");
    if (!S_ISREG(is.st_mode))
        throw Error(path.string(), "is a pipe or a device, not a file",
                    "Name a file; save what comes through a pipe into one first");
    constexpr std::uintmax_t kMegabyte = 1'000'000;
    const auto bytes = static_cast<std::uintmax_t>(is.st_size);
    if (bytes > most)
        throw Error(path.string(),
                    "has " + std::to_string(bytes / kMegabyte) + " MB, more than the " +
                        std::to_string(most / kMegabyte) + " MB that are read of such a file",
                    "Check that it is the file you meant");
}

}  // namespace

std::string readFile(const std::filesystem::path& path, std::uintmax_t most)
{
    struct stat is {};
    // Before it is opened too: opening alone sets some devices going.
    if (stat(path.c_str(), &is) != 0) cannotOpen(path, errno);
    requireRegular(path, is, most);
    // Without waiting: in between a pipe may have come in its place.
    const Descriptor file{open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY)};
    if (file.number < 0 || fstat(file.number, &is) != 0) cannotOpen(path, errno);
    requireRegular(path, is, most);
    std::string bytes(static_cast<std::size_t>(is.st_size), '\0');
    std::size_t had = 0;
    while (had < bytes.size()) {
        const ssize_t got = read(file.number, &bytes[had], bytes.size() - had);
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0)
            throw Error(path.string(),
                        "cannot be read to its end" +
                            (got < 0 ? ": " + std::generic_category().message(errno) : std::string()),
                        "Check the disk it is on, or copy it there again");
        had += static_cast<std::size_t>(got);
    }
    return bytes;
}

}  // namespace slipglass
