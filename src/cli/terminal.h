#pragma once
#include <array>
#include <memory>
#include <ostream>
#include <string>

namespace slipglass {

/// While it lives, what is written to std::cout and std::cerr is printable(), line by line: whatever of a
/// file's name or a plan comes through, the terminal obeys none of it. Where nobody hears any more (a closed
/// terminal, a pipe to a program that has ended) the work goes on and is kept.
class Terminal {
public:
    Terminal();
    ~Terminal();
    Terminal(const Terminal&) = delete;
    Terminal& operator=(const Terminal&) = delete;

    /// Whether all that was written to std::cout so far has come out, but for what nobody wanted to hear:
    /// `head` takes what it likes.
    bool saidAll();

private:
    struct Stream;
    std::array<std::unique_ptr<Stream>, 2> streams_;
};

/// What we made ourselves to steer the terminal, as it is.
void steer(std::ostream& to, const std::string& sequence);

/// "slipglass: ..." as one line on stderr.
void complain(const std::string& line);

}  // namespace slipglass
