#include "graph.h"

#include <onnx/onnx_pb.h>

#include <algorithm>
#include <cstring>
#include <stdexcept>

#include "slipglass/network/network.h"

namespace slipglass {

namespace {

using Constants = std::map<std::string, const onnx::TensorProto*>;

[[noreturn]] void unreadable(const std::string& what)
{
    throw std::runtime_error("a network that cannot be read: " + what);
}

template <typename T>
std::vector<T> numbers(const onnx::TensorProto& tensor)
{
    const std::string& raw = tensor.raw_data();
    std::vector<T> values(raw.size() / sizeof(T));
    std::memcpy(values.data(), raw.data(), values.size() * sizeof(T));
    return values;
}

const onnx::AttributeProto* attribute(const onnx::NodeProto& node, const char* name)
{
    const auto found = std::find_if(node.attribute().begin(), node.attribute().end(),
                                    [&](const auto& a) { return a.name() == name; });
    return found == node.attribute().end() ? nullptr : &*found;
}

std::vector<int> ints(const onnx::NodeProto& node, const char* name)
{
    const onnx::AttributeProto* found = attribute(node, name);
    if (!found) return {};
    return {found->ints().begin(), found->ints().end()};
}

bool allAre(const std::vector<int>& values, int one)
{
    return std::all_of(values.begin(), values.end(), [one](int v) { return v == one; });
}

using Scales = std::map<std::string, std::vector<float>>;

/// By name of a value or of weights: what a step of it is, of weights for each output.
Scales scalesIn(const onnx::GraphProto& graph, const Constants& constants)
{
    Scales scales;
    for (const auto& note : graph.quantization_annotation()) {
        for (const auto& told : note.quant_parameter_tensor_names()) {
            if (told.key() == "SCALE_TENSOR")
                scales[note.tensor_name()] = numbers<float>(*constants.at(told.value()));
        }
    }
    return scales;
}

/// A convolution, or one turned round, with square kernels and the same steps both ways.
Step convolution(const onnx::NodeProto& node, const Constants& constants, const Scales& scales)
{
    const bool up = node.op_type() == "ConvTranspose";
    const onnx::TensorProto& weights = *constants.at(node.input(1));
    const std::vector<int> kernel = ints(node, "kernel_shape"), strides = ints(node, "strides"),
                           pads = ints(node, "pads");
    Step step;
    step.kind = up ? Step::Kind::upsampling : Step::Kind::convolution;
    step.in = static_cast<int>(weights.dims(up ? 0 : 1));
    step.out = static_cast<int>(weights.dims(up ? 1 : 0));
    step.kernel = kernel.at(0);
    step.stride = strides.at(0);
    step.pad = pads.at(0);
    const onnx::AttributeProto* group = attribute(node, "group");
    const bool plain = allAre(kernel, step.kernel) && allAre(strides, step.stride) &&
                       allAre(pads, step.pad) && allAre(ints(node, "dilations"), 1) &&
                       (!group || group->i() == 1);
    if (!plain || node.input_size() != 3 || (up && (step.kernel != step.stride || step.pad != 0)))
        unreadable(node.op_type() + " " + node.name());
    step.weights = numbers<float>(weights);
    step.bias = numbers<float>(*constants.at(node.input(2)));
    if (const auto found = scales.find(node.input(1)); found != scales.end())
        step.weight_steps = found->second;
    return step;
}

/// How far a picture is widened to each side, before a mean is taken along its rows.
int widened(const onnx::NodeProto& pad, const Constants& constants)
{
    const auto sides = numbers<int64_t>(*constants.at(pad.input(1)));
    if (sides.size() != 8 || sides[3] != sides[7]) unreadable("Pad " + pad.name());
    for (const size_t i : {0, 1, 2, 4, 5, 6}) {
        if (sides[i] != 0) unreadable("Pad " + pad.name());
    }
    return static_cast<int>(sides[3]);
}

Step rowMean(const onnx::NodeProto& node, int pad)
{
    const std::vector<int> kernel = ints(node, "kernel_shape");
    Step step;
    step.kind = Step::Kind::row_mean;
    step.kernel = kernel.at(1);
    if (kernel.at(0) != 1 || step.kernel != 2 * pad + 1 || !allAre(ints(node, "strides"), 1) ||
        !allAre(ints(node, "pads"), 0))
        unreadable("AveragePool " + node.name());
    return step;
}

bool doubles(const onnx::NodeProto& node, const Constants& constants)
{
    const onnx::AttributeProto *mode = attribute(node, "mode"),
                               *where = attribute(node, "coordinate_transformation_mode");
    return numbers<float>(*constants.at(node.input(2))) == std::vector<float>{1, 1, 2, 2} && mode &&
           mode->s() == "linear" && where && where->s() == "half_pixel";
}

/// Joins a sum or a relu to the convolution, a sum to the doubling, whose value nothing else needs.
void joinSteps(NetworkGraph& graph)
{
    std::map<int, int> needs;
    for (const Step& s : graph.steps) {
        for (const int value : s.from) ++needs[value];
    }
    for (const auto& [_, value] : graph.outputs) ++needs[value];
    std::vector<Step> joined;
    for (const Step& step : graph.steps) {
        const bool sum = step.kind == Step::Kind::sum, relu = step.kind == Step::Kind::relu;
        const auto takes_it = [&](const Step& s) {
            const bool may = s.kind == Step::Kind::convolution ||
                             s.kind == (relu ? Step::Kind::upsampling : Step::Kind::doubling);
            return may && !s.then_relu && (relu || s.plus < 0) && needs[s.to] == 1 &&
                   std::find(step.from.begin(), step.from.end(), s.to) != step.from.end();
        };
        const auto made =
            sum || relu ? std::find_if(joined.rbegin(), joined.rend(), takes_it) : joined.rend();
        if (made == joined.rend()) {
            joined.push_back(step);
            continue;
        }
        // Done where the sum was: by then all it needs is there.
        Step whole = *made;
        if (sum) whole.plus = step.from[0] == whole.to ? step.from[1] : step.from[0];
        whole.then_relu = relu;
        whole.to = step.to;
        joined.erase(std::next(made).base());
        joined.push_back(std::move(whole));
    }
    graph.steps = std::move(joined);
}

}  // namespace

NetworkGraph readGraph(std::string_view onnx)
{
    onnx::ModelProto model;
    if (!model.ParseFromArray(onnx.data(), static_cast<int>(onnx.size())) || model.graph().input_size() != 1)
        unreadable("not an ONNX file of one input");
    const onnx::GraphProto& read = model.graph();

    Constants constants;
    for (const auto& tensor : read.initializer()) constants[tensor.name()] = &tensor;
    for (const auto& node : read.node()) {
        if (node.op_type() == "Constant") constants[node.output(0)] = &attribute(node, "value")->t();
    }

    const Scales scales = scalesIn(read, constants);

    NetworkGraph graph;
    std::map<std::string, int> value_of = {{read.input(0).name(), 0}};
    std::map<std::string, int> pad_of;
    graph.channels = static_cast<int>(read.input(0).type().tensor_type().shape().dim(1).dim_value());
    for (const auto& node : read.node()) {
        const std::string& type = node.op_type();
        Step step;
        if (type == "Constant") continue;
        if (type == "Pad") {
            // Only ever before a mean along rows, which takes it in.
            pad_of[node.output(0)] = widened(node, constants);
            value_of[node.output(0)] = value_of.at(node.input(0));
            continue;
        }
        if (type == "Conv" || type == "ConvTranspose") {
            step = convolution(node, constants, scales);
        } else if (type == "AveragePool") {
            step = rowMean(node, pad_of[node.input(0)]);
        } else if (type == "Resize" && doubles(node, constants)) {
            step.kind = Step::Kind::doubling;
        } else if (type == "Add") {
            step.kind = Step::Kind::sum;
        } else if (type == "Concat" && attribute(node, "axis")->i() == 1) {
            step.kind = Step::Kind::joining;
        } else if (type == "Relu") {
            step.kind = Step::Kind::relu;
        } else if (type == "Sigmoid") {
            step.kind = Step::Kind::sigmoid;
        } else {
            unreadable(type + " " + node.name());
        }
        const bool of_all = step.kind == Step::Kind::sum || step.kind == Step::Kind::joining;
        for (int i = 0; i < (of_all ? node.input_size() : 1); ++i)
            step.from.push_back(value_of.at(node.input(i)));
        step.to = static_cast<int>(value_of.size());
        value_of[node.output(0)] = step.to;
        graph.steps.push_back(std::move(step));
    }
    for (const auto& output : read.output()) graph.outputs[output.name()] = value_of.at(output.name());
    for (const auto& [name, value] : value_of) {
        if (const auto found = scales.find(name); found != scales.end())
            graph.scales[value] = found->second.at(0);
    }
    joinSteps(graph);
    for (const auto& output : read.output()) {
        for (const Step& step : graph.steps) {
            if (step.kind == Step::Kind::sigmoid && step.to == graph.outputs.at(output.name()))
                graph.outputs[logOddsOf(output.name())] = step.from[0];
        }
    }
    return graph;
}

}  // namespace slipglass
