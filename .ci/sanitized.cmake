# What both kinds of sanitizers are built with.
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(CMAKE_CXX_FLAGS_RELWITHDEBINFO "-O1 -g1" CACHE STRING "")
set(SLIPGLASS_WARNINGS_AS_ERRORS ON CACHE BOOL "")
set(SLIPGLASS_BENCHMARK OFF CACHE BOOL "")
# maybe-uninitialized: g++ 12 sees it inside its own <regex> once sanitizers are on.
set(CMAKE_CXX_FLAGS "${flags} -Wno-maybe-uninitialized" CACHE STRING "")
