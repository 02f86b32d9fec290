#include "terminal.h"

#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <iostream>
#include <streambuf>

#include "slipglass/terminal_text.h"

namespace slipglass {
namespace {

constexpr size_t kMuch = 1 << 16;  // bytes; written without being asked to

extern "C" void goOn(int) {}

/// A file opened later would take the place of a closed stream, and get what is meant for people.
void fillClosedStreams()
{
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
        if (fcntl(stream, F_GETFD) < 0 && errno == EBADF && open("/dev/null", O_RDWR) < 0) return;
}

/// A write to a pipe that nobody reads fails instead of ending the program. Not SIG_IGN, which the programs
/// that we start would inherit.
void outlivePipes()
{
    struct sigaction action = {};
    action.sa_handler = goOn;
    action.sa_flags = SA_RESTART;
    sigaction(SIGPIPE, &action, nullptr);
}

class PrintableBuffer : public std::streambuf {
public:
    explicit PrintableBuffer(int file) : file_(file) {}

    void raw(const std::string& bytes)
    {
        sync();
        write(bytes);
    }
    bool failed() const { return failed_; }

protected:
    int_type overflow(int_type c) override
    {
        if (!traits_type::eq_int_type(c, traits_type::eof())) text_ += traits_type::to_char_type(c);
        return traits_type::not_eof(c);
    }
    std::streamsize xsputn(const char* bytes, std::streamsize count) override
    {
        text_.append(bytes, static_cast<size_t>(count));
        if (text_.size() > kMuch)
            if (const size_t end = text_.rfind('\n'); end != std::string::npos) writeUpTo(end + 1);
        return count;
    }
    int sync() override
    {
        writeUpTo(text_.size());
        return 0;
    }

private:
    void writeUpTo(size_t end)
    {
        std::string shown;
        for (size_t from = 0; from < end;) {
            const size_t line_end = std::min(text_.find('\n', from), end);
            shown += printable(text_.substr(from, line_end - from));
            if (line_end < end) shown += '\n';
            from = line_end + 1;
        }
        text_.erase(0, end);
        write(shown);
    }
    void write(const std::string& bytes)
    {
        for (size_t at = 0; at < bytes.size() && !over_;) {
            const ssize_t written = ::write(file_, bytes.data() + at, bytes.size() - at);
            if (written >= 0) {
                at += static_cast<size_t>(written);
            } else if (errno != EINTR) {
                over_ = true;
                failed_ = errno != EPIPE && errno != EIO;  // EIO: the terminal was closed
            }
        }
    }

    int file_;
    std::string text_;
    bool over_ = false, failed_ = false;
};

}  // namespace

struct Terminal::Stream {
    Stream(std::ostream& of, int file) : stream(of), buffer(file), before(of.rdbuf(&buffer)) {}
    ~Stream()
    {
        stream.flush();
        stream.rdbuf(before);
    }
    Stream(const Stream&) = delete;
    Stream& operator=(const Stream&) = delete;

    std::ostream& stream;
    PrintableBuffer buffer;
    std::streambuf* before;
};

Terminal::Terminal()
{
    fillClosedStreams();
    outlivePipes();
    streams_ = {std::make_unique<Stream>(std::cout, STDOUT_FILENO),
                std::make_unique<Stream>(std::cerr, STDERR_FILENO)};
}

Terminal::~Terminal() = default;

bool Terminal::saidAll()
{
    std::cout.flush();
    return !streams_.front()->buffer.failed();
}

void steer(std::ostream& to, const std::string& sequence)
{
    if (auto* buffer = dynamic_cast<PrintableBuffer*>(to.rdbuf()))
        buffer->raw(sequence);
    else
        to << sequence;
}

void complain(const std::string& line)
{
    std::cerr << "slipglass: " << printable(line) << std::endl;
}

}  // namespace slipglass
