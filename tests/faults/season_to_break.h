#pragma once
// A season of one photo, and runs that go on with it by others while something goes wrong.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "../cli/run_program.h"
#include "../support/samples.h"
#include "../support/season_folder.h"

namespace slipglass::test {

using Environment = std::map<std::string, std::string>;

class SeasonToBreak {
public:
    /// @param later  photos that come with the run that has the fault.
    explicit SeasonToBreak(const std::vector<std::string>& later)
    {
        std::filesystem::create_directories(scratch_ / "photos");
        add("T01_2026-01-12");
        EXPECT_EQ(measure(scratch_ / "first").code, 0);
        for (const std::string& stem : later) add(stem);
        EXPECT_EQ(measure(begun()).code, 0);
        files_ = filesBelow(out());
        rows_ = seasonText(out());
    }

    /// The season of the first photo, anew.
    std::filesystem::path begun() const
    {
        std::filesystem::remove_all(out());
        std::filesystem::copy(scratch_ / "first", out(), std::filesystem::copy_options::recursive);
        return out();
    }
    Ran measure(const std::filesystem::path& to, const Environment& environment = {}, int threads = 1) const
    {
        for (const auto& [name, value] : environment) setenv(name.c_str(), value.c_str(), 1);
        constexpr unsigned kLongest_s = 300;  // some take 3 s
        const Program program({"measure", (scratch_ / "photos").string(), "--out", to.string(), "--threads",
                               std::to_string(threads)},
                              std::nullopt, {}, kLongest_s);
        for (const auto& [name, value] : environment) unsetenv(name.c_str());
        return program.wait();
    }
    std::filesystem::path out() const { return scratch_ / "season"; }
    std::filesystem::path note() const { return scratch_ / "note"; }  ///< for what is preloaded to write

    /// Whether the folder has the files that a run without a fault gives.
    bool isWhole() const { return filesBelow(out()) == files_; }
    /// The next run has to end in the files and rows that a run without a fault gives. Of seasons that were
    /// left the same to the byte it goes on with one.
    void expectMended()
    {
        if (!gone_on_with_.insert(sumOfAllBytes()).second) return;
        const Ran again = measure(out());
        EXPECT_EQ(again.code, 0) << again.err;
        EXPECT_TRUE(isWhole());
        EXPECT_EQ(seasonText(out()), rows_);
    }

    /// How many different seasons were gone on with.
    size_t goneOnWith() const { return gone_on_with_.size(); }

private:
    size_t sumOfAllBytes() const
    {
        std::map<std::string, std::string> files;
        for (const auto& entry : std::filesystem::recursive_directory_iterator(out()))
            files[entry.path().string()] = entry.is_regular_file() ? test::readBytes(entry.path()) : "";
        std::string all;
        for (const auto& [path, bytes] : files)
            all.append(path).append(1, '\0').append(std::to_string(bytes.size())).append(bytes);
        return std::hash<std::string>()(all);
    }
    void add(const std::string& stem) const
    {
        const std::filesystem::path photo = samplePhoto(stem);
        std::filesystem::copy_file(photo, scratch_ / "photos" / photo.filename());
    }

    ScratchFolder scratch_;
    std::map<std::string, std::string> files_;
    std::string rows_;
    std::set<size_t> gone_on_with_;
};

/// Calls `try_it` with some of 1..count, evenly spaced, until one fails; with all, whatever fails, where
/// SLIPGLASS_EVERY_FAULT is set, or, where it says 2/8, with every eighth from the second on. Prints how
/// many, for .ci/prove.
template <class TryIt>
void trySome(const std::string& kind, long count, long tried, const TryIt& try_it)
{
    long apart = std::max(1L, count / tried), first = 1 + apart / 2;
    const char* every = std::getenv("SLIPGLASS_EVERY_FAULT");
    if (every)
        if (std::sscanf(every, "%ld/%ld", &first, &apart) != 2) first = apart = 1;
    long done = 0;
    for (long nth = first; nth <= count && (every || !testing::Test::HasFailure()); nth += apart, ++done) {
        SCOPED_TRACE(kind + " at " + std::to_string(nth) + " of " + std::to_string(count));
        try_it(nth);
    }
    std::cout << "faults: " << kind << ": " << done << " of " << count << " tried\n";
}

}  // namespace slipglass::test
