#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {

/// What the shelf itself writes into a season's folder, beside what `measure` does.
struct SeasonFolder {
    std::filesystem::path out;

    std::filesystem::path photos() const { return out / "photos"; }
    std::filesystem::path care() const { return out / "care.csv"; }
    std::filesystem::path plan() const { return out / "batch.csv"; }
    std::filesystem::path settings() const { return out / "settings.json"; }
    std::filesystem::path corrections() const { return out / "corrections"; }
    std::filesystem::path running() const { return out / ".running"; }  ///< told_address.h
    std::filesystem::path uploads() const { return out / ".sent"; }  ///< until they are whole and looked at
};

/// A photo that came in.
struct TakenIn {
    std::string photo;    ///< its file in photos()
    bool had_it = false;  ///< the same picture was there
};

/// Moves a file that was sent among the season's photos, under its own name made safe, or one like it where
/// that is taken.
/// @param name      as the sender calls it; never used as a path.
/// @param modified  the day the sender says; put in front where neither name nor picture tells a date.
/// Throws Error, under that name, when it is no picture, or its date cannot be true.
TakenIn takeIn(const SeasonFolder& folder, const std::filesystem::path& sent, const std::string& name,
               std::optional<Date> modified, Date today, const PhotoLimits& limits = {});

/// Renames one of the season's own photos so that its name tells its tub, which holds against label and
/// grains.
/// @param tub  kNoTub: none of this season.
/// @return  its new name. Throws Error when it is not there or a file name cannot hold the tub's.
std::string nameTub(const SeasonFolder& folder, const std::string& photo, const std::string& tub, Date today,
                    const PhotoLimits& limits = {});

/// Renames one of the season's own photos, or to a name like it where that is taken.
/// @return  its new name.
std::string giveName(const SeasonFolder& folder, const std::string& photo, const std::string& name);

/// The season's own photos that are called so, sorted.
std::vector<std::string> photosOfNoTub(const SeasonFolder& folder);

/// Whether a file that was given to `measure` under some name is the season's own: the very file, or one that
/// was called so before the folder was moved here.
bool isOwn(const std::string& given_as, const std::filesystem::path& own);

/// One of the season's own photos; empty when it is none.
std::optional<std::filesystem::path> ownPhoto(const SeasonFolder& folder, const std::string& photo);
/// The same; throws Error, with what to do, when it is none.
std::filesystem::path ownPhotoOrError(const SeasonFolder& folder, const std::string& photo);

}  // namespace slipglass
