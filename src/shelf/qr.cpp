#include "slipglass/shelf/qr.h"

#include <qrencode.h>

#include <memory>
#include <stdexcept>

namespace slipglass {

namespace {

constexpr int kQuiet = 4;  // modules around it, ISO/IEC 18004

class Modules {
public:
    explicit Modules(const std::string& text)
        : code_(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M), QRcode_free)
    {
        if (!code_) throw std::runtime_error("no QR code can hold " + std::to_string(text.size()) + " bytes");
    }
    int size() const { return code_->width + 2 * kQuiet; }
    bool dark(int x, int y) const
    {
        x -= kQuiet;
        y -= kQuiet;
        const int width = code_->width;
        return x >= 0 && y >= 0 && x < width && y < width && (code_->data[y * width + x] & 1) != 0;
    }

private:
    std::unique_ptr<QRcode, void (*)(QRcode*)> code_;
};

}  // namespace

std::string qrSvg(const std::string& text)
{
    const Modules code(text);
    const std::string size = std::to_string(code.size());
    std::string path;
    for (int y = 0; y < code.size(); ++y)
        for (int x = 0; x < code.size(); ++x)
            if (code.dark(x, y))
                path.append("M")
                    .append(std::to_string(x))
                    .append(" ")
                    .append(std::to_string(y))
                    .append("h1v1h-1z");
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + size + " " + size +
           "\" shape-rendering=\"crispEdges\"><rect width=\"" + size + "\" height=\"" + size +
           "\" fill=\"#fff\"/><path fill=\"#000\" d=\"" + path + "\"/></svg>";
}

std::string qrForTerminal(const std::string& text)
{
    const Modules code(text);
    std::string lines;
    for (int y = 0; y < code.size(); y += 2) {
        lines += "\033[30;107m";  // black on white
        for (int x = 0; x < code.size(); ++x) {
            const bool upper = code.dark(x, y), lower = y + 1 < code.size() && code.dark(x, y + 1);
            lines += upper ? (lower ? "█" : "▀") : (lower ? "▄" : " ");
        }
        lines += "\033[0m\n";
    }
    return lines;
}

}  // namespace slipglass
