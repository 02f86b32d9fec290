#pragma once
// Private to words.
#include <string>
#include <string_view>

namespace slipglass {

/// The compiled catalogue (.mo) of a language; empty for English and for languages there are no words of.
std::string_view translations(const std::string& language);

}  // namespace slipglass
