#include "peer.h"

#include <sys/resource.h>

#include <chrono>
#include <cstdlib>
#include <functional>
#include <iostream>
#include <opencv2/imgcodecs.hpp>

#include "slipglass/measure.h"
#include "slipglass/verify/overlap.h"

namespace slipglass::benchmark {

namespace {

namespace fs = std::filesystem;

/// Processor time so far of this program, or of those it has called.
double spent(int whose)
{
    rusage use{};
    getrusage(whose, &use);
    const auto seconds = [](const timeval& t) {
        return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
    };
    return seconds(use.ru_utime) + seconds(use.ru_stime);
}

double secondsOf(int whose, const std::function<void()>& what)
{
    const double before = spent(whose);
    what();
    return spent(whose) - before;
}

/// Photos, and of the mean over those that show roots.
struct Found {
    int photos = 0, with_roots = 0;
    double dice = 0;
};

Found compared(const fs::path& samples, const fs::path& masks)
{
    constexpr const char* kEnd = ".roots.png";
    Found found;
    for (const auto& entry : fs::directory_iterator(samples / "truth")) {
        const std::string name = entry.path().filename().string();
        if (name.size() < 10 || name.compare(name.size() - 10, 10, kEnd) != 0) continue;
        const cv::Mat truth = cv::imread(entry.path().string(), cv::IMREAD_GRAYSCALE) > 127;
        const cv::Mat told = cv::imread((masks / name).string(), cv::IMREAD_GRAYSCALE) > 127;
        ++found.photos;
        if (cv::countNonZero(truth) == 0) continue;
        ++found.with_roots;
        if (!told.empty()) found.dice += sharesOf(overlapOf(told, truth, 0)).dice.value_or(0);
    }
    return found;
}

void printRow(const std::string& name, double seconds, const Found& found)
{
    std::cout << name << ": " << seconds / found.photos << " s of processor time a photo, Dice "
              << found.dice / found.with_roots << " (mean of " << found.with_roots << " photos with roots)\n";
}

}  // namespace

void printBesidePeer(const fs::path& samples, const fs::path& work)
{
    MeasureOptions options;
    options.photos = {samples / "photos"};
    options.batch = samples / "batch.csv";
    options.out = work / "season";
    options.threads = 1;
    options.today = std::chrono::year{2026} / 11 / 30;
    const double ours = secondsOf(RUSAGE_SELF, [&] { measure(options, {}); });
    printRow("slipglass, pages and all", ours, compared(samples, options.out / "masks"));

    const fs::path masks = work / "ridges";
    fs::create_directories(masks);
    const std::string command = "OMP_NUM_THREADS=1 /usr/bin/python3 '" SLIPGLASS_RIDGE_FILTER "' '" +
                                samples.string() + "' '" + masks.string() + "'";
    int status = 0;
    const double theirs = secondsOf(RUSAGE_CHILDREN, [&] { status = std::system(command.c_str()); });
    if (status != 0)
        std::cout << "ridge filter: did not run; it needs python3-numpy, python3-opencv, python3-skimage\n";
    else
        printRow("ridge filter, given the true wall and scale", theirs, compared(samples, masks));
}

}  // namespace slipglass::benchmark
