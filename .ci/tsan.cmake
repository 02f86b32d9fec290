# What two threads do to the same memory with nothing between them; .ci/sanitize thread uses it.
set(SLIPGLASS_SANITIZE "thread" CACHE STRING "")
include("${CMAKE_CURRENT_LIST_DIR}/sanitized.cmake")
