#pragma once
#include <string>

namespace slipglass {

/// The same for all names that a file system takes for one where it does not tell capitals from small
/// letters, nor one way of writing a letter with its accent from another.
std::string foldedName(const std::string& name);

}  // namespace slipglass
