#pragma once
// Photos made worse in memory, step by step, with the truth carried along.
#include <functional>
#include <opencv2/core/mat.hpp>
#include <string>
#include <vector>

namespace slipglass::benchmark {

/// An upright photo in full size and the truth about it.
struct Scene {
    cv::Mat bgr;          ///< CV_8UC3
    cv::Mat roots, wall;  ///< CV_8UC1 0/255, the photo's size
    double px_per_mm = 1;
    double focal_px = 1;
};

/// One step of one way to spoil a photo.
struct Degradation {
    std::string kind;  ///< "defocus", ...
    std::string unit;  ///< of `amount`, in words
    double amount = 0;
    bool alike =
        false;  ///< also tried with a first photo that is spoilt alike: the same phone, the same room
    std::function<Scene(const Scene&)> apply;
};

/// All steps, by kind, each kind from mild to bad; the first is the photo as it is.
std::vector<Degradation> degradations();

}  // namespace slipglass::benchmark
