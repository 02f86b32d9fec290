#include "../../src/measure/to_do.h"

#include <gtest/gtest.h>

#include "../../src/measure/photo_list.h"
#include "../support/scratch_folder.h"
#include "../support/season_maker.h"
#include "slipglass/no_memory.h"

namespace slipglass {
namespace {

class ProblemOfAKeptPhoto : public testing::Test {
protected:
    ProblemOfAKeptPhoto()
    {
        item_.file.name = seen_.photo;
        item_.taken = seen_.taken;
        item_.tubs = {seen_.tub};
        item_.made.content = "its bytes";
        store_.putPhoto(seen_.photo, item_.made, {seen_}, {});
    }
    /// What is said of it.
    std::vector<Problem> told(const std::string& reason)
    {
        item_.problem = Problem{seen_.photo, seen_.tub, "not measured", reason, "do something"};
        std::vector<Problem> problems;
        tellProblems({item_}, kept_ ? *kept_ : kept_.emplace(store_), store_, problems);
        return problems;
    }
    size_t rowsInStore() const { return store_.allPhotos().at(seen_.photo).observations.size(); }

    test::ScratchFolder scratch_;
    SeasonStore store_{scratch_ / "season.db", SeasonStore::Use::write};
    Observation seen_ = test::seenOn(7);
    Item item_;
    std::optional<KeptPhotos> kept_;
};

TEST_F(ProblemOfAKeptPhoto, KeepsItsFiguresWhereThereWasNoMemory)
{
    const std::vector<Problem> problems = told(kNoMemoryForIt);
    ASSERT_EQ(problems.size(), 1U);
    EXPECT_NE(problems[0].reason.find("its figures are kept"), std::string::npos) << problems[0].reason;
    EXPECT_EQ(rowsInStore(), 1U);
    EXPECT_TRUE(kept_->find(seen_.photo));
}

// A photo that could be read as before, and shows another tub by today's plan: what was said of it was wrong.
TEST_F(ProblemOfAKeptPhoto, TakesThemFromWhatOthersAreMeasuredWithWhereTheyWereWrong)
{
    EXPECT_TRUE(told("its label says 'T09', which is no tub of the plan").empty());
    EXPECT_EQ(rowsInStore(), 0U);
    EXPECT_FALSE(kept_->find(seen_.photo));
}

}  // namespace
}  // namespace slipglass
