#pragma once
#include <map>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "slipglass/corrections/correction.h"
#include "slipglass/photo/read_photo.h"
#include "slipglass/season/care.h"
#include "slipglass/serve/server.h"
#include "slipglass/tub/tub_type.h"
#include "work.h"

namespace slipglass {

/// What people give on the pages beside photos: written into the season's own files, then measured with. Each
/// answers what the page is told; throws Error, for people, on what cannot be.
class GivenHere {
public:
    GivenHere(const SeasonFolder& folder, const ShelfOptions& options, Work& work);

    std::string planText() const;  ///< that holds now, as the two below
    std::string careText() const;
    std::string settingsText() const;
    std::vector<TubType> ownTypes() const;
    PageSettings pages() const;  ///< how pages are read from the next measuring on
    PhotoLimits photoLimits() const;
    nlohmann::json planShown() const;

    /// 409, and the version that holds, when the form is not of that.
    Response keepPlan(const nlohmann::json& form);
    Response keepType(const nlohmann::json& type);
    Response keepPages(const nlohmann::json& pages);
    Response writeCare(const CareEvent& event);
    Response takeBackCare(const CareEvent& event);
    /// Corrections add up: each is a file of its own.
    Response keepCorrection(const std::string& text);
    /// What was saved on a tub in a photo: {"last", "all"}, each a correction.
    Response savedOn(const PhotoAndTub& place);
    /// @param what  "last" or "all"; answers what is left: {"drawn", "file", "round"}.
    Response takeBackCorrection(const PhotoAndTub& place, const std::string& what);
    /// Corrections of it, and what is still being drawn on it, go with it.
    /// @param tub  empty: as before.
    void photoRenamed(const PhotoAndTub& before, const std::string& now, const std::string& tub);
    /// @param what  "teach" or "forget".
    Response lesson(const std::string& what);

private:
    const SeasonFolder& folder_;
    const ShelfOptions& options_;
    Work& work_;
    std::mutex writing_;  ///< of two who write, one after the other
    /// Throws Error when there are none.
    std::vector<CorrectionFile> saved(const PhotoAndTub& place);
    PhotoAndTub asNow(PhotoAndTub place) const;
    struct Named {
        std::string photo, tub;
    };
    std::map<std::string, Named> renamed_;  ///< since it began, by the photo's name before
};

Response jsonResponse(const nlohmann::json& value, int status = 200);

}  // namespace slipglass
