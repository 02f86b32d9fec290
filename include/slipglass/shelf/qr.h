#pragma once
#include <string>

namespace slipglass {

/// A QR code (ISO/IEC 18004) with its quiet zone, for a page: SVG, a unit a module, dark on light whatever
/// the page's colours. Throws std::runtime_error on a text that is too long for one.
std::string qrSvg(const std::string& text);

/// The same for a terminal, two modules a character, dark on light by colours of its own.
std::string qrForTerminal(const std::string& text);

}  // namespace slipglass
