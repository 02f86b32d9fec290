# cmake -C .ci/asan.cmake -S . -B build-asan
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(SLIPGLASS_SANITIZE "address,undefined" CACHE STRING "")
set(SLIPGLASS_WARNINGS_AS_ERRORS ON CACHE BOOL "")
# g++ 12 sees uninitialized values inside its own <regex> once sanitizers are on.
set(CMAKE_CXX_FLAGS "-Wno-maybe-uninitialized" CACHE STRING "")
