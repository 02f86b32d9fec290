# Every step into foreign memory and every step that C++ leaves open ends the program; .ci/sanitize address uses it.
# float-cast-overflow is not among "undefined", though it is.
set(SLIPGLASS_SANITIZE "address,undefined,float-cast-overflow" CACHE STRING "")
# _GLIBCXX_ASSERTIONS: an index past a vector's end, which its spare room hides from AddressSanitizer.
set(flags "-fno-sanitize-recover=all -D_GLIBCXX_ASSERTIONS")
include("${CMAKE_CURRENT_LIST_DIR}/sanitized.cmake")
