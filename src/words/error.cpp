#include "slipglass/error.h"

#include "slipglass/text.h"

namespace slipglass {

Error::Error(const std::string& input, const std::string& problem, const std::string& remedy)
    : std::runtime_error(readableLength(input) + ": " + readableLength(problem) + ". " +
                         readableLength(remedy) + "."),
      input_(readableLength(input)),
      problem_(readableLength(problem)),
      remedy_(readableLength(remedy))
{
}

}  // namespace slipglass
