#include "../../src/measure/try_photo.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <new>
#include <opencv2/core.hpp>

#include "slipglass/error.h"

namespace slipglass {
namespace {

TEST(TryPhoto, TellsWhateverIsThrown)
{
    EXPECT_FALSE(tryPhoto("a.jpg", "T01", [] {}));
    const auto error = tryPhoto("a.jpg", "T01", [] { throw Error("/x/a.jpg", "is empty", "Copy it"); });
    ASSERT_TRUE(error);
    EXPECT_EQ(error->file, "a.jpg");
    EXPECT_EQ(error->tub, "T01");
    EXPECT_EQ(error->state, "not measured");
    EXPECT_EQ(error->reason, "is empty");
    EXPECT_EQ(error->remedy, "Copy it");
    const auto memory = tryPhoto("a.jpg", "", [] { throw std::bad_alloc(); });
    ASSERT_TRUE(memory);
    EXPECT_EQ(memory->reason, "there is too little memory for it");
    EXPECT_TRUE(isPassing(*memory));
    EXPECT_FALSE(isPassing(*error));
    const auto bug = tryPhoto("a.jpg", "", [] { throw std::logic_error("two\nlines\n"); });
    ASSERT_TRUE(bug);
    EXPECT_EQ(bug->reason, "slipglass failed on this picture: two lines");
}

TEST(TryPhoto, KnowsThatOpenCvHadNoMemory)
{
    const auto memory = tryPhoto("a.jpg", "", [] {
        throw cv::Exception(cv::Error::StsNoMem, "Failed to allocate 8 bytes", "OutOfMemoryError",
                            "alloc.cpp", 73);
    });
    ASSERT_TRUE(memory);
    EXPECT_TRUE(isPassing(*memory)) << memory->reason;
}

TEST(TryPhoto, KnowsThatTheSystemHadNoMemory)
{
    const auto thrown = [](std::errc reason) {
        return tryPhoto("a.jpg", "", [&] {
            throw std::filesystem::filesystem_error("cannot open directory", "photos",
                                                    make_error_code(reason));
        });
    };
    EXPECT_TRUE(isPassing(thrown(std::errc::not_enough_memory).value()));
    EXPECT_FALSE(isPassing(thrown(std::errc::permission_denied).value()));
}

TEST(TryPhoto, LetsGoWhatIsNoPhotosFault)
{
    EXPECT_THROW(tryPhoto("a.jpg", "", [] { throw RunError("season.db", "the disk is full", "Make room"); }),
                 RunError);
}

}  // namespace
}  // namespace slipglass
