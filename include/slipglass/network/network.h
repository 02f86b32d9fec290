#pragma once
#include <memory>
#include <opencv2/core/mat.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace slipglass {

/// A plane given in signed bytes counts in steps of this.
constexpr float kPlaneStep = 1.0F / 127;

/// Names what an output is before its sigmoid makes it a probability.
std::string logOddsOf(const std::string& output);

/// A learned map, to run on the processor, by several threads at once if need be.
class Network {
public:
    /// @param onnx  bytes of an ONNX file with the layers that src/network/graph.h names.
    /// @throws std::runtime_error for any other (our bug).
    explicit Network(std::string_view onnx);
    ~Network();
    Network(const Network&) = delete;
    Network& operator=(const Network&) = delete;

    /// What the map says of a picture: for each name an output of the file, or logOddsOf(one), CV_32FC(n)
    /// with a channel a plane.
    /// @param planes  CV_32FC(n), or CV_8SC(n) in steps of kPlaneStep; as many channels as the file takes,
    ///                sides in multiples of 32. Or those laid by fours, CV_8SC(4n) of half the sides and one
    ///                more: in row i and column j the pixels of rows 2i - 1 and 2i and columns 2j - 1 and 2j,
    ///                from left to right and down, zeros beyond the ends. For files that first look at 4 x 4
    ///                pixels in every second place, which are 2 x 2 of these, and done in three quarters of
    ///                the time.
    /// @throws std::runtime_error  no such output, or another number of channels (our bug).
    std::vector<cv::Mat> run(const cv::Mat& planes, const std::vector<std::string>& wanted) const;

    /// Weights of a convolution of single pixels.
    struct Weights {
        std::vector<double> of_channel;
        double bias = 0;
    };
    /// Those that make one plane of an output before its sigmoid.
    Weights lastWeights(const std::string& output, int plane) const;

private:
    struct Prepared;
    std::unique_ptr<Prepared> prepared_;
};

/// The size of what a network is given of a picture of this size: with space to the right and below, up to
/// what it can halve five times.
cv::Size paddedForNetwork(cv::Size size);

/// Copies of the planes that a network gave, cut to `size`, which leaves out the space added.
std::vector<cv::Mat> planesOf(const cv::Mat& output, cv::Size size);

}  // namespace slipglass
