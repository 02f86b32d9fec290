#pragma once
#include <stdexcept>
#include <string>

namespace slipglass {

/// Something the user can put right: what it is about, what is wrong, what to do. Reads
/// "IMG_0412.HEIC: no date in its name or EXIF data. Start the file name with the tub and YYYY-MM-DD."
/// A text quoted from a file may have any length: what is far too long to be read is cut.
class Error : public std::runtime_error {
public:
    Error(const std::string& input, const std::string& problem, const std::string& remedy);
    const std::string& input() const noexcept { return input_; }
    const std::string& problem() const noexcept { return problem_; }
    const std::string& remedy() const noexcept { return remedy_; }

private:
    std::string input_, problem_, remedy_;
};

/// One that is about the whole run, as a full disk is: it ends the run even where it comes up at a photo.
class RunError : public Error {
public:
    using Error::Error;
};

}  // namespace slipglass
