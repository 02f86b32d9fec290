#include "convolution.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <stdexcept>
#include <string_view>

// Pictures of many channels lie as oneDNN's nhwc.

namespace slipglass {

namespace {

using dnnl::memory;

const dnnl::engine& processor()
{
    static const dnnl::engine engine = [] {
        // Matrix units (AMX) convolve in 0.8 of the time, but are made ready so slowly that a run takes a
        // sixth more, in twice the memory. Whoever names instructions in oneDNN's own variable gets those.
        const char* named = std::getenv("DNNL_MAX_CPU_ISA");
        if (!named || !*named) dnnl::set_max_cpu_isa(dnnl::cpu_isa::avx512_core_vnni);
        // Network keeps what is compiled. oneDNN (2.6) would behind a lock that it does not let go of where
        // there is no memory meanwhile: other threads would wait for ever.
        dnnl::set_primitive_cache_capacity(0);
        return dnnl::engine(dnnl::engine::kind::cpu, 0);
    }();
    return engine;
}

memory::desc picture(cv::Size size, int channels, int depth)
{
    const memory::data_type type = depth == CV_8U   ? memory::data_type::u8
                                   : depth == CV_8S ? memory::data_type::s8
                                                    : memory::data_type::f32;
    return {{1, channels, size.height, size.width}, type, memory::format_tag::nhwc};
}

cv::Size sizeAfter(const Step& step, cv::Size size)
{
    const auto along = [&step](int n) { return (n + 2 * step.pad - step.kernel) / step.stride + 1; };
    return {along(size.width), along(size.height)};
}

/// Weights as the whole numbers they are, and the bias in the same steps; these are told, one for each
/// output. Where the processor adds two products of a byte and a weight in sixteen bits, oneDNN halves the
/// weights that go with signed bytes: doubled before, they lose nothing.
std::vector<float> countSteps(const Step& step, int from_depth, float from_scale, std::vector<float>& weights,
                              std::vector<float>& bias)
{
    if (step.weight_steps.size() != static_cast<size_t>(step.out))
        throw std::runtime_error("a network whose weights are no whole numbers of steps");
    const float count = from_depth == CV_8S ? 2 : 1;
    const size_t each = weights.size() / bias.size();
    std::vector<float> steps;
    for (size_t out = 0; out < bias.size(); ++out) {
        const float one = step.weight_steps[out % step.weight_steps.size()];
        for (size_t i = 0; i < each; ++i)
            weights[out * each + i] = count * std::round(weights[out * each + i] / one);
        steps.push_back(one / count);
        bias[out] /= steps.back() * from_scale;
    }
    return steps;
}

/// in x out x k x k to (k x k x out) x in, so that each pixel's channels lie together.
void turnForPixels(const Step& step, std::vector<float>& weights, std::vector<float>& bias)
{
    const auto ins = static_cast<size_t>(step.in), outs = static_cast<size_t>(step.out),
               places = static_cast<size_t>(step.kernel) * static_cast<size_t>(step.kernel);
    std::vector<float> turned(weights.size());
    for (size_t place = 0; place < places; ++place) {
        for (size_t out = 0; out < outs; ++out) {
            for (size_t in = 0; in < ins; ++in)
                turned[(place * outs + out) * ins + in] = weights[(in * outs + out) * places + place];
        }
    }
    weights = std::move(turned);
    const std::vector<float> one = bias;
    for (size_t place = 1; place < places; ++place) bias.insert(bias.end(), one.begin(), one.end());
}

/// Of bytes, oneDNN would rather convolve by products of blocks (brgconv). What it would take next is as
/// quick, and made ready in a quarter of the time, which passes anew for each size of panel.
/// @param wanted  is read once more where the next is looked for: it has to live until then.
dnnl::convolution_forward::primitive_desc quickToMake(const dnnl::convolution_forward::desc& wanted,
                                                      const dnnl::primitive_attr& also)
{
    const auto named = [](const dnnl::convolution_forward::primitive_desc& one, std::string_view name) {
        return std::string_view(one.impl_info_str()).substr(0, name.size()) == name;
    };
    dnnl::convolution_forward::primitive_desc first(wanted, also, processor());
    if (!named(first, "brgconv")) return first;
    dnnl::convolution_forward::primitive_desc next(wanted, also, processor());
    return next.next_impl() && named(next, "jit_int8") ? next : first;
}

}  // namespace

Convolution::Convolution(const Step& step, cv::Size size, int from_depth, float from_scale, float to_scale,
                         float plus_scale)
{
    // An upsampling by whole steps is a convolution of single pixels to each of the pixels under a step.
    const bool up = step.kind == Step::Kind::upsampling, bytes = from_scale > 0;
    const int out = up ? step.out * step.kernel * step.kernel : step.out, kernel = up ? 1 : step.kernel;
    from_ = picture(size, step.in, from_depth);
    to_ = picture(up ? size : sizeAfter(step, size), out, to_scale > 0 ? CV_8U : CV_32F);
    to_type_ = CV_MAKETYPE(to_scale > 0 ? CV_8U : CV_32F, out);
    const memory::dims shape = {out, step.in, kernel, kernel};
    const memory::desc offsets({out}, memory::data_type::f32, memory::format_tag::a);
    const memory::dim stride = up ? 1 : step.stride, pad = up ? 0 : step.pad;

    std::vector<float> plain = step.weights, plain_bias = step.bias;
    if (up) turnForPixels(step, plain, plain_bias);
    dnnl::primitive_attr also;
    if (bytes) {
        const std::vector<float> steps = countSteps(step, from_depth, from_scale, plain, plain_bias);
        std::vector<float> gains = steps;
        for (float& gain : gains) gain *= from_scale / (to_scale > 0 ? to_scale : 1);
        constexpr int kEachOutput = 1 << 1;
        also.set_output_scales(kEachOutput, gains);
    }
    dnnl::post_ops after;
    if (step.plus >= 0) after.append_sum(to_scale > 0 ? plus_scale / to_scale : 1);
    if (step.then_relu) after.append_eltwise(1, dnnl::algorithm::eltwise_relu, 0, 0);
    also.set_post_ops(after);
    also.set_scratchpad_mode(dnnl::scratchpad_mode::user);
    const memory::data_type weight_type = bytes ? memory::data_type::s8 : memory::data_type::f32;
    const dnnl::convolution_forward::desc wanted(dnnl::prop_kind::forward_inference,
                                                 dnnl::algorithm::convolution_direct, from_,
                                                 {shape, weight_type, memory::format_tag::any}, offsets, to_,
                                                 {stride, stride}, {pad, pad}, {pad, pad});
    const dnnl::convolution_forward::primitive_desc best = quickToMake(wanted, also);
    does_ = dnnl::convolution_forward(best);
    scratch_ = best.scratchpad_desc();

    memory given({shape, memory::data_type::f32, memory::format_tag::oihw}, processor(), plain.data());
    weights_ = memory(best.weights_desc(), processor());
    bias_ = memory(offsets, processor());
    dnnl::stream stream(processor());
    dnnl::reorder(given, weights_).execute(stream, given, weights_);
    stream.wait();
    std::copy(plain_bias.begin(), plain_bias.end(), static_cast<float*>(bias_.get_data_handle()));
}

cv::Mat Convolution::of(const cv::Mat& value, const cv::Mat& plus) const
{
    const auto size = to_.dims();
    cv::Mat made = plus;
    made.create(static_cast<int>(size[2]), static_cast<int>(size[3]), to_type_);
    // Where it works: one place for all convolutions of a thread, which are done one after the other.
    thread_local std::vector<uchar> place;
    if (place.size() < scratch_.get_size()) place.resize(scratch_.get_size());
    dnnl::stream stream(processor());
    does_.execute(stream, {{DNNL_ARG_SRC, memory(from_, processor(), const_cast<uchar*>(value.data))},
                           {DNNL_ARG_WEIGHTS, weights_},
                           {DNNL_ARG_BIAS, bias_},
                           {DNNL_ARG_SCRATCHPAD, memory(scratch_, processor(), place.data())},
                           {DNNL_ARG_DST, memory(to_, processor(), made.data)}});
    stream.wait();
    return made;
}

}  // namespace slipglass
