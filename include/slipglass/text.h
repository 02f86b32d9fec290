#pragma once
#include <optional>
#include <string>
#include <vector>

namespace slipglass {

/// The parts that are not empty, with `between` between them.
std::string joined(const std::vector<std::string>& parts, const char* between);

/// "1 tub", "2 tubs".
std::string counted(long long n, const char* one, const char* many);

/// With that many decimals and a '.', whatever the locale; "" when empty or not finite; never "-0.0".
std::string figureText(std::optional<double> value, int decimals);

/// ASCII letters made small, whatever the locale: people write our words and their ids in any case.
std::string inSmall(std::string text);

/// `text`, its middle left out where it is longer than a person reads: of a field of 300,000 letters the
/// beginning and the end say which it is.
std::string readableLength(const std::string& text);

/// `text`, with the replacement character for what is not UTF-8.
std::string validUtf8(const std::string& text);

}  // namespace slipglass
