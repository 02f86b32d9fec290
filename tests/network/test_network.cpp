// The maps that ship, run by our engine and by OpenCV's own (its dnn module): two programs that read the same
// file must say the same.
#include "slipglass/network/network.h"

#include <gtest/gtest.h>
#include <onnx/onnx_pb.h>

#include <algorithm>
#include <cmath>
#include <oneapi/dnnl/dnnl.hpp>
#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>
#include <stdexcept>
#include <thread>

#include "slipglass/roots/find_roots.h"
#include "slipglass/tub/find_tub.h"

namespace slipglass {
namespace {

/// @param least  planes of light evened out go below zero, to -1.
cv::Mat noise(cv::Size size, int channels, double least = 0)
{
    cv::Mat planes(size, CV_32FC(channels));
    cv::RNG(7).fill(planes.reshape(1), cv::RNG::UNIFORM, least, 1.0);
    return planes;
}

/// What OpenCV says of the same planes.
std::vector<std::vector<cv::Mat>> byOpenCv(std::string_view onnx, const cv::Mat& planes,
                                           const std::vector<std::string>& wanted)
{
    cv::dnn::Net net = cv::dnn::readNetFromONNX(onnx.data(), onnx.size());
    net.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    const int shape[] = {1, planes.channels(), planes.rows, planes.cols};
    cv::Mat blob(4, shape, CV_32F);
    std::vector<cv::Mat> channels;
    cv::split(planes, channels);
    for (int i = 0; i < planes.channels(); ++i)
        channels[static_cast<size_t>(i)].copyTo(cv::Mat(planes.size(), CV_32F, blob.ptr<float>(0, i)));
    net.setInput(blob);
    std::vector<cv::Mat> out;
    net.forward(out, std::vector<cv::String>(wanted.begin(), wanted.end()));
    std::vector<std::vector<cv::Mat>> said;
    for (const cv::Mat& o : out) {
        std::vector<cv::Mat>& of = said.emplace_back();
        for (int i = 0; i < o.size[1]; ++i)
            of.push_back(
                cv::Mat(o.size[2], o.size[3], CV_32F, const_cast<float*>(o.ptr<float>(0, i))).clone());
    }
    return said;
}

/// The same map, worked out in numbers only.
std::string withoutBytes(std::string_view onnx)
{
    onnx::ModelProto model;
    EXPECT_TRUE(model.ParseFromArray(onnx.data(), static_cast<int>(onnx.size())));
    EXPECT_GT(model.graph().quantization_annotation_size(), 0);
    model.mutable_graph()->clear_quantization_annotation();
    return model.SerializeAsString();
}

void expectSame(std::string_view onnx, const cv::Mat& planes, const std::vector<std::string>& wanted)
{
    Network network(onnx);
    const std::vector<cv::Mat> ours = network.run(planes, wanted);
    const auto theirs = byOpenCv(onnx, planes, wanted);
    ASSERT_EQ(ours.size(), theirs.size());
    for (size_t i = 0; i < ours.size(); ++i) {
        ASSERT_EQ(ours[i].channels(), static_cast<int>(theirs[i].size())) << wanted[i];
        for (int c = 0; c < ours[i].channels(); ++c) {
            cv::Mat plane;
            cv::extractChannel(ours[i], plane, c);
            const cv::Mat& other = theirs[i][static_cast<size_t>(c)];
            ASSERT_EQ(plane.size(), other.size()) << wanted[i];
            const double most = cv::norm(other, cv::NORM_INF);
            EXPECT_LT(cv::norm(plane, other, cv::NORM_INF), 1e-5 * std::max(1.0, most))
                << wanted[i] << " plane " << c;
            EXPECT_GT(most, 1e-4) << "nothing to compare";
        }
    }
}

TEST(Network, SaysOfRootsAndWaterWhatOpenCvSays)
{
    expectSame(withoutBytes(rootMapBytes()), noise({160, 224}, 13, -1), {"roots", "features", "water"});
}

TEST(Network, SaysOfTubsWhatOpenCvSays)
{
    expectSame(withoutBytes(tubMapBytes()), noise({96, 128}, 4), {"map"});
}

/// Of probabilities; noise is no picture: nothing is sure there.
void expectNearlySame(std::string_view onnx, const cv::Mat& planes, const char* wanted)
{
    Network numbers(withoutBytes(onnx)), bytes(onnx);
    const cv::Mat exact = numbers.run(planes, {wanted})[0], rounded = bytes.run(planes, {wanted})[0];
    cv::Mat off;
    cv::absdiff(exact.reshape(1), rounded.reshape(1), off);
    EXPECT_LT(cv::mean(off)[0], 0.01) << wanted;
    EXPECT_GT(cv::mean(off)[0], 0) << wanted << ": not in bytes";
}

TEST(Network, SaysNearlyTheSameInBytes)
{
    // As the program gives them: signed bytes, some below zero.
    cv::Mat planes;
    noise({160, 224}, 13).convertTo(planes, CV_8S, 200, -70);
    for (const char* name : {"roots", "water"}) expectNearlySame(rootMapBytes(), planes, name);
    expectNearlySame(tubMapBytes(), noise({160, 224}, 4), "map");
}

TEST(Network, SaysTheSameWhateverSizeCameBefore)
{
    Network fresh(rootMapBytes()), used(rootMapBytes());
    (void)used.run(noise({96, 64}, 13), {"roots"});
    (void)used.run(noise({64, 96}, 13), {"water"});
    const cv::Mat planes = noise({128, 64}, 13);
    EXPECT_EQ(cv::norm(fresh.run(planes, {"roots"})[0], used.run(planes, {"roots"})[0], cv::NORM_INF), 0);
}

TEST(Network, SaysTheSameInNumbersWhereBytesOfTheirSizeCameBefore)
{
    const Network fresh(rootMapBytes()), used(rootMapBytes());
    const cv::Mat planes = noise({64, 64}, 13);
    (void)used.run(cv::Mat::zeros(64, 64, CV_8SC(13)), {"roots"});
    EXPECT_EQ(cv::norm(fresh.run(planes, {"roots"})[0], used.run(planes, {"roots"})[0], cv::NORM_INF), 0);
}

TEST(Network, SaysTheSameToSeveralThreadsAtOnce)
{
    // More sizes than it keeps ready, each asked for by each thread, from another one on.
    std::vector<cv::Mat> planes, alone;
    for (int side = 1; side <= 17; ++side) planes.push_back(noise({32 * side, 32}, 13));
    const Network one(rootMapBytes()), shared(rootMapBytes());
    for (const cv::Mat& these : planes) alone.push_back(one.run(these, {"roots"})[0]);
    std::vector<double> off(2, 0);
    std::vector<std::thread> threads;
    for (size_t t = 0; t < off.size(); ++t)
        threads.emplace_back([&, t] {
            for (size_t i = 0; i < planes.size(); ++i) {
                const size_t now = (i + 2 * t) % planes.size();
                const cv::Mat said = shared.run(planes[now], {"roots"})[0];
                off[t] = std::max(off[t], cv::norm(said, alone[now], cv::NORM_INF));
            }
        });
    for (std::thread& thread : threads) thread.join();
    EXPECT_EQ(off, std::vector<double>(2, 0));
}

// It would behind a lock that it does not let go of where there is no memory, so that other threads wait for
// ever (tests/faults finds it by chance).
TEST(Network, OneDnnKeepsNothing)
{
    (void)Network(rootMapBytes()).run(noise({64, 64}, 13), {"roots"});
    EXPECT_EQ(dnnl::get_primitive_cache_capacity(), 0);
}

TEST(Network, AnswersAreTheirOwnerS)
{
    Network network(rootMapBytes());
    const cv::Mat first = network.run(noise({64, 64}, 13), {"roots"})[0], kept = first.clone();
    (void)network.run(cv::Mat::zeros(64, 64, CV_32FC(13)), {"roots"});
    EXPECT_EQ(cv::norm(first, kept, cv::NORM_INF), 0);
}

TEST(Network, SaysTheSameOfPlanesByFours)
{
    cv::Mat planes;
    noise({64, 96}, 13).convertTo(planes, CV_8S, 200, -70);
    cv::Mat by_fours = cv::Mat::zeros(planes.size() / 2 + cv::Size(1, 1), CV_8SC(52));
    for (int y = 0; y < planes.rows; ++y)
        for (int x = 0; x < planes.cols; ++x)
            std::copy_n(planes.ptr<schar>(y, x), 13,
                        by_fours.ptr<schar>((y + 1) / 2, (x + 1) / 2) + ((y + 1) % 2 * 2 + (x + 1) % 2) * 13);
    Network network(rootMapBytes());
    for (const char* name : {"roots", "features", "water"})
        EXPECT_EQ(cv::norm(network.run(planes, {name})[0], network.run(by_fours, {name})[0], cv::NORM_INF), 0)
            << name;
    // The tub's map looks at 5 x 5 pixels.
    Network other(tubMapBytes());
    EXPECT_THROW((void)other.run(cv::Mat::zeros(33, 33, CV_8SC(16)), {"map"}), std::runtime_error);
}

TEST(Network, LogOddsAreWhatTheSigmoidIsOf)
{
    Network network(rootMapBytes());
    const std::vector<cv::Mat> out = network.run(noise({64, 64}, 13), {"roots", logOddsOf("roots")});
    cv::Mat probability;
    cv::exp(-out[1], probability);
    probability = 1 / (1 + probability.reshape(1));
    EXPECT_LT(cv::norm(out[0].reshape(1), probability, cv::NORM_INF), 1e-6);
    EXPECT_GT(cv::norm(out[1], cv::NORM_INF), 1);
    EXPECT_THROW((void)network.run(noise({64, 64}, 13), {logOddsOf("features")}), std::runtime_error);
}

TEST(Network, LastWeightsAreThoseOfTheOutput)
{
    // By hand: features weighed and put through the sigmoid are the roots.
    Network network(rootMapBytes());
    const std::vector<cv::Mat> out = network.run(noise({64, 64}, 13), {"features", "roots"});
    const Network::Weights last = network.lastWeights("roots", 1);
    const float* features = out[0].ptr<float>(33, 21);
    double sum = last.bias;
    for (size_t i = 0; i < last.of_channel.size(); ++i) sum += last.of_channel[i] * features[i];
    EXPECT_NEAR(out[1].ptr<float>(33, 21)[1], 1 / (1 + std::exp(-sum)), 1e-5);
}

TEST(Network, RefusesWhatItCannotRead)
{
    EXPECT_THROW(Network("no network"), std::runtime_error);
    Network network(rootMapBytes());
    EXPECT_THROW((void)network.run(noise({64, 64}, 3), {"roots"}), std::runtime_error);
    EXPECT_THROW((void)network.run(noise({64, 64}, 13), {"leaves"}), std::runtime_error);
}

}  // namespace
}  // namespace slipglass
