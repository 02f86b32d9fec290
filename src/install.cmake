# cmake --install build --prefix DIR: the program, and a package for other programs:
#     find_package(slipglass REQUIRED)
#     target_link_libraries(mine PRIVATE slipglass::slipglass)   # or one stage: slipglass::photo
include(CMakePackageConfigHelpers)
set(SLIPGLASS_PACKAGE_DIR ${CMAKE_INSTALL_LIBDIR}/cmake/slipglass)

set_target_properties(slipglass_all PROPERTIES EXPORT_NAME slipglass)
install(TARGETS slipglass_all EXPORT slipglass)
install(TARGETS slipglass RUNTIME)
install(DIRECTORY ${PROJECT_SOURCE_DIR}/include/slipglass TYPE INCLUDE)
install(FILES ${PROJECT_SOURCE_DIR}/docs/LICENSE.md TYPE DOC)
# Started by a double click.
install(FILES shelf/slipglass.desktop DESTINATION ${CMAKE_INSTALL_DATADIR}/applications)
install(FILES shelf/pages/icon.svg DESTINATION ${CMAKE_INSTALL_DATADIR}/icons/hicolor/scalable/apps RENAME slipglass.svg)

install(EXPORT slipglass FILE slipglassTargets.cmake NAMESPACE slipglass:: DESTINATION ${SLIPGLASS_PACKAGE_DIR})
file(WRITE ${CMAKE_CURRENT_BINARY_DIR}/slipglassConfig.cmake
     "include(\${CMAKE_CURRENT_LIST_DIR}/libraries.cmake)\ninclude(\${CMAKE_CURRENT_LIST_DIR}/slipglassTargets.cmake)\n")
write_basic_package_version_file(${CMAKE_CURRENT_BINARY_DIR}/slipglassConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/slipglassConfig.cmake ${CMAKE_CURRENT_BINARY_DIR}/slipglassConfigVersion.cmake
              libraries.cmake DESTINATION ${SLIPGLASS_PACKAGE_DIR})
