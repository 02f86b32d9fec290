# The libraries slipglass stands on, most of them hidden in one folder each. Read by the build, and by the installed
# package, since what links a static library needs what the library needs.
find_package(OpenCV 4.6 REQUIRED COMPONENTS core imgproc calib3d)
find_package(Protobuf REQUIRED)  # ONNX names it
find_package(ONNX REQUIRED)
find_library(DNNL_LIBRARY dnnl REQUIRED)  # its CMake file asks for OpenCL, which is not used
find_package(OpenMP REQUIRED)
find_package(Ceres REQUIRED)
find_package(Boost REQUIRED COMPONENTS locale)  # the rest headers only: Boost.Math
find_package(ZXing REQUIRED)
find_package(nlohmann_json 3 REQUIRED)
find_package(SQLite3 REQUIRED)
find_package(Threads REQUIRED)
find_package(PkgConfig REQUIRED)
pkg_check_modules(PICTURES REQUIRED IMPORTED_TARGET libjpeg libpng zlib libtiff-4 libwebp libwebpdemux libheif libexif)
pkg_check_modules(WEBPMUX REQUIRED IMPORTED_TARGET libwebpmux libwebp)
pkg_check_modules(QRENCODE REQUIRED IMPORTED_TARGET libqrencode)
pkg_check_modules(GLIB REQUIRED IMPORTED_TARGET glib-2.0)
pkg_check_modules(PANGOCAIRO REQUIRED IMPORTED_TARGET pangocairo)
pkg_check_modules(PLPLOT REQUIRED IMPORTED_TARGET plplot)
pkg_check_modules(XXHASH REQUIRED IMPORTED_TARGET libxxhash)
pkg_check_modules(MICROHTTPD REQUIRED IMPORTED_TARGET libmicrohttpd)
find_library(CSV_LIBRARY csv REQUIRED)  # libcsv ships no CMake or pkg-config file
