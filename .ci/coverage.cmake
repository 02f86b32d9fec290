# Counts which lines and branches are reached, with clang, which counts branches of the source and not those that an
# exception could take; .ci/coverage uses it.
set(CMAKE_CXX_COMPILER clang++ CACHE STRING "")
set(CMAKE_BUILD_TYPE None CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -fprofile-instr-generate -fcoverage-mapping" CACHE STRING "")
set(SLIPGLASS_BENCHMARK OFF CACHE BOOL "")
