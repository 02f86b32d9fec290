#pragma once
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "given_here.h"

namespace slipglass {

/// Which tub a photo shows, as people say on the pages: the photo's name tells it from then on, whatever told
/// it before, to this program and to `measure`. Each throws Error, for people, on what cannot be.
class NamedHere {
public:
    NamedHere(const SeasonFolder& folder, const ShelfOptions& options, Work& work, GivenHere& given);

    /// Whether it can be said of a photo: {"photo"}.
    Response asked(const std::string& photo) const;
    /// @param tub  kNoTub: none of this season.
    Response name(const std::string& photo, const std::string& tub);
    /// The photo gets back the name that it had before the last change.
    Response takeBack(const std::string& photo);
    /// What was said since it began, the latest first, and can be taken back: [{"photo", "tub",
    /// "tub_before"}].
    nlohmann::json lately() const;

private:
    struct Change {
        std::string before, now;  ///< names of the photo
        std::string tub_before;   ///< empty: none was known
        std::string tub;
    };
    void check(const std::string& photo) const;

    const SeasonFolder& folder_;
    const ShelfOptions& options_;
    Work& work_;
    GivenHere& given_;
    mutable std::mutex naming_;
    std::vector<Change> changes_;
};

}  // namespace slipglass
