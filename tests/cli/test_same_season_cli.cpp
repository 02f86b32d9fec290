// The same photos, plan and care log give the same season whatever the way: time zone, locale, folders, the
// files' order, threads, runs.
#include <gtest/gtest.h>

#include <cstdlib>

#include "../support/samples.h"
#include "../support/season_folder.h"
#include "run_program.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using Words = std::vector<std::string>;

const Words kPhotos = {"T01_2026-01-12", "T01_2026-01-26", "T01_2026-02-09", "T03_2026-02-04",
                       "T03_2026-02-22"};

/// Variables of the environment, as long as it lives.
class Environment {
public:
    explicit Environment(const std::vector<std::pair<const char*, const char*>>& values)
    {
        for (const auto& [name, value] : values) {
            const char* before = std::getenv(name);
            before_.emplace_back(name, before ? std::optional<std::string>(before) : std::nullopt);
            setenv(name, value, 1);
        }
    }
    Environment(const Environment&) = delete;
    Environment& operator=(const Environment&) = delete;
    ~Environment()
    {
        for (const auto& [name, value] : before_) {
            if (value)
                setenv(name.c_str(), value->c_str(), 1);
            else
                unsetenv(name.c_str());
        }
    }

private:
    std::vector<std::pair<std::string, std::optional<std::string>>> before_;
};

class SameSeasonCli : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        scratch_ = std::make_unique<test::ScratchFolder>();
        fill("photos", kPhotos);
        const Environment zone({{"TZ", "UTC"}, {"LC_ALL", "C"}});
        measure({(*scratch_ / "photos").string()}, "season", {"--threads", "1"});
    }
    static void TearDownTestSuite() { scratch_.reset(); }

    static void fill(const std::string& folder, const Words& stems)
    {
        fs::create_directories(*scratch_ / folder);
        for (const std::string& stem : stems) {
            const fs::path photo = test::samplePhoto(stem), to = *scratch_ / folder / photo.filename();
            if (!fs::exists(to)) fs::copy_file(photo, to);
        }
    }

    static void measure(const Words& photos, const std::string& out, const Words& more = {})
    {
        Words all{"measure"};
        all.insert(all.end(), photos.begin(), photos.end());
        const fs::path samples = test::samplePhoto("T01_2026-01-12").parent_path().parent_path();
        for (const Words& words :
             {Words{"--batch", (samples / "batch.csv").string(), "--care", (samples / "care.csv").string(),
                    "--out", (*scratch_ / out).string()},
              more})
            all.insert(all.end(), words.begin(), words.end());
        const test::Ran ran = test::run(all);
        ASSERT_EQ(ran.code, 0) << ran.err;
    }

    static void expectTheSeason(const std::string& out)
    {
        const auto files = test::filesBelow(*scratch_ / "season"), others = test::filesBelow(*scratch_ / out);
        for (const auto& [name, bytes] : files) {
            const auto found = others.find(name);
            ASSERT_NE(found, others.end()) << name;
            EXPECT_TRUE(found->second == bytes) << name;
        }
        EXPECT_EQ(files.size(), others.size());
        EXPECT_GT(files.size(), 20U);
        EXPECT_EQ(test::seasonText(*scratch_ / "season"), test::seasonText(*scratch_ / out));
    }

    static std::unique_ptr<test::ScratchFolder> scratch_;
};

std::unique_ptr<test::ScratchFolder> SameSeasonCli::scratch_;

// From one to the other it is 25 hours: another day as well.
TEST_F(SameSeasonCli, InAnyTimeZoneAndLocaleAndFolder)
{
    fill("Fotos & März 'neu'", kPhotos);
    {
        const Environment here({{"TZ", "Pacific/Kiritimati"}, {"LC_ALL", "de_DE.UTF-8"}});
        measure({(*scratch_ / "Fotos & März 'neu'").string()}, "Sommer, zweiter", {"--threads", "2"});
    }
    expectTheSeason("Sommer, zweiter");
    {
        const Environment here({{"TZ", "Pacific/Pago_Pago"}, {"LC_ALL", "C.UTF-8"}});
        measure({(*scratch_ / "photos/").string()}, "third");
    }
    expectTheSeason("third");
}

TEST_F(SameSeasonCli, WithThePhotosComingOverManyRunsAndInAnotherOrder)
{
    // The last first, as from a phone that was emptied late.
    fill("late", {kPhotos[2], kPhotos[4]});
    measure({(*scratch_ / "late").string()}, "in runs");
    fill("late", {kPhotos[0]});
    measure({(*scratch_ / "late").string()}, "in runs");
    fill("late", kPhotos);
    measure({(*scratch_ / "late").string()}, "in runs", {"--threads", "2"});
    expectTheSeason("in runs");
}

TEST_F(SameSeasonCli, WithFilesNamedOneByOneAndTwice)
{
    Words files;
    for (const std::string& stem : {kPhotos[3], kPhotos[1], kPhotos[0], kPhotos[3], kPhotos[4], kPhotos[2]})
        files.push_back((*scratch_ / "photos" / (stem + ".jpg")).string());
    files.push_back((*scratch_ / "photos").string());
    measure(files, "by name");
    expectTheSeason("by name");
}

TEST_F(SameSeasonCli, WithTwoRunsAtOnceOneAfterTheOther)
{
    Words all{"measure",   (*scratch_ / "photos").string(),
              "--out",     (*scratch_ / "at once").string(),
              "--threads", "1"};
    const fs::path samples = test::samplePhoto("T01_2026-01-12").parent_path().parent_path();
    all.insert(all.end(),
               {"--batch", (samples / "batch.csv").string(), "--care", (samples / "care.csv").string()});
    const test::Program first(all), second(all);
    const test::Ran one = first.wait(), two = second.wait();
    // Either both end well, one behind the other, or one says that the other is at work.
    EXPECT_TRUE(one.code == 0 || two.code == 0) << one.err << two.err;
    for (const test::Ran& ran : {one, two})
        EXPECT_TRUE(ran.code == 0 || ran.err.find("another") != std::string::npos) << ran.err;
    expectTheSeason("at once");
}

}  // namespace
}  // namespace slipglass
