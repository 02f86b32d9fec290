# cmake -C .ci/checks.cmake -S . -B build: what CI builds with.
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(SLIPGLASS_WARNINGS_AS_ERRORS ON CACHE BOOL "")
