#pragma once
#include <stdexcept>
#include <string>

namespace slipglass {

/// Something the user can put right: what it is about, what is wrong, what to do. Reads
/// "IMG_0412.HEIC: no date in its name or EXIF data. Start the file name with the tub and YYYY-MM-DD."
class Error : public std::runtime_error {
public:
    Error(const std::string& input, const std::string& problem, const std::string& remedy)
        : std::runtime_error(input + ": " + problem + ". " + remedy + "."),
          input_(input),
          problem_(problem),
          remedy_(remedy)
    {
    }
    const std::string& input() const noexcept { return input_; }
    const std::string& problem() const noexcept { return problem_; }
    const std::string& remedy() const noexcept { return remedy_; }

private:
    std::string input_, problem_, remedy_;
};

}  // namespace slipglass
