#pragma once
#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace slipglass {

/// One step of a network: a value out of one or two others. Values are numbered; 0 is what the network is
/// given.
struct Step {
    enum class Kind {
        convolution,  ///< and `bias`; in every `stride`th place
        upsampling,   ///< by whole steps, each with weights of its own, and `bias`
        doubling,     ///< bilinear
        row_mean,     ///< over `kernel` places along a row, 0 beyond its ends
        sum,          ///< of two values
        joining,      ///< the channels of several values, one after the other
        relu,
        sigmoid,
    };
    Kind kind = Kind::relu;
    std::vector<int> from;   ///< one value; of a sum two, of a joining some
    int plus = -1;           ///< of a convolution or a doubling: added at the end, before the relu
    bool then_relu = false;  ///< only of the first two kinds
    int to = 0;
    int in = 0, out = 0;  ///< channels
    int kernel = 0, stride = 1, pad = 0;
    std::vector<float> weights;  ///< out x in x kernel x kernel; of an upsampling in x out x kernel x kernel
    std::vector<float> bias;     ///< out
    /// Of the weights of each output, where they are whole numbers of such steps: what works in bytes needs
    /// it.
    std::vector<float> weight_steps;
};

/// A network as read: steps in an order in which they can be done.
struct NetworkGraph {
    int channels = 0;  ///< that it takes
    std::vector<Step> steps;
    std::map<std::string, int> outputs;  ///< name to value
    std::map<int, float> scales;         ///< of the values that are held in bytes: what a step of one is
};

/// Reads an ONNX file and joins to each convolution the sum and the relu after it, to a doubling the sum.
/// @throws std::runtime_error  not readable, or a layer that is none of the above.
NetworkGraph readGraph(std::string_view onnx);

}  // namespace slipglass
