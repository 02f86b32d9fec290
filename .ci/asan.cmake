# Every step into foreign memory and every step that C++ leaves open ends the program; .ci/sanitize address uses it.
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O1 -g1" CACHE STRING "")
# float-cast-overflow is not among "undefined", though it is.
set(SLIPGLASS_SANITIZE "address,undefined,float-cast-overflow" CACHE STRING "")
set(SLIPGLASS_WARNINGS_AS_ERRORS ON CACHE BOOL "")
set(SLIPGLASS_BENCHMARK OFF CACHE BOOL "")
# _GLIBCXX_ASSERTIONS: an index past a vector's end, which its spare room hides from AddressSanitizer.
# maybe-uninitialized: g++ 12 sees it inside its own <regex> once sanitizers are on.
set(CMAKE_CXX_FLAGS "-fno-sanitize-recover=all -D_GLIBCXX_ASSERTIONS -Wno-maybe-uninitialized" CACHE STRING "")
