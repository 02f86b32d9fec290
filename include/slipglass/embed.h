#pragma once
#include <initializer_list>
#include <string>
#include <string_view>

namespace slipglass::embedded {

/// Several, one after the other.
inline std::string textOf(std::initializer_list<std::string_view> files)
{
    std::string text;
    for (const std::string_view file : files) text += file;
    return text;
}

}  // namespace slipglass::embedded

/// Puts a file into the program at build time, so that there is nothing to install and nothing to lose:
/// `slipglass::embedded::name()` in this file gives its bytes. Outside of any namespace.
/// @param name  unique in the whole program.
/// @param path  a literal, mostly from the build, which must also build this anew when the file changes.
#define SLIPGLASS_EMBED(name, path)                                                                        \
    asm(".section .rodata\n"                                                                               \
        ".global slipglass_embedded_" #name "\n.global slipglass_embedded_" #name                          \
        "_end\n.balign 16\nslipglass_embedded_" #name ":\n.incbin \"" path "\"\nslipglass_embedded_" #name \
        "_end:\n.previous\n");                                                                             \
    extern "C" const char slipglass_embedded_##name[];                                                     \
    extern "C" const char slipglass_embedded_##name##_end[];                                               \
    namespace slipglass::embedded {                                                                        \
    namespace {                                                                                            \
    std::string_view name()                                                                                \
    {                                                                                                      \
        return {slipglass_embedded_##name,                                                                 \
                static_cast<std::size_t>(slipglass_embedded_##name##_end - slipglass_embedded_##name)};    \
    }                                                                                                      \
    }                                                                                                      \
    }
