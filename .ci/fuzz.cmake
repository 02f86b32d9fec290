# cmake -C .ci/fuzz.cmake -S . -B build-fuzz: the fuzzers of tests/fuzz and what they read with. .ci/fuzz does it.
set(CMAKE_CXX_COMPILER clang++ CACHE STRING "")
set(CMAKE_BUILD_TYPE None CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -gline-tables-only -fno-sanitize-recover=all" CACHE STRING "")
# fuzzer-no-link: what is reached is counted in our code; libFuzzer itself goes into the fuzzers alone.
# float-cast-overflow is not among "undefined", though it is.
set(SLIPGLASS_SANITIZE "fuzzer-no-link,address,undefined,float-cast-overflow" CACHE STRING "")
set(SLIPGLASS_FUZZ ON CACHE BOOL "")
set(SLIPGLASS_TESTS OFF CACHE BOOL "")
set(SLIPGLASS_BENCHMARK OFF CACHE BOOL "")
