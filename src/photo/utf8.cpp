#include "utf8.h"

#include <iconv.h>

#include <cerrno>
#include <new>
#include <stdexcept>

namespace slipglass {

std::string asUtf8(const std::string& bytes)
{
    const iconv_t converter = iconv_open("UTF-32LE", "UTF-8");  // to anything: only the reading is wanted
    // NOLINTNEXTLINE(performance-no-int-to-ptr): that is how POSIX says it failed
    if (converter == reinterpret_cast<iconv_t>(-1)) {
        if (errno == ENOMEM) throw std::bad_alloc();
        throw std::runtime_error("iconv knows no UTF-8");
    }
    std::string text = bytes;
    char* in = text.data();
    size_t in_left = text.size();
    while (in_left > 0) {
        char scratch[256];
        char* out = scratch;
        size_t out_left = sizeof scratch;
        if (iconv(converter, &in, &in_left, &out, &out_left) != static_cast<size_t>(-1) || errno == E2BIG)
            continue;
        *in++ = '?';
        --in_left;
    }
    iconv_close(converter);
    return text;
}

}  // namespace slipglass
