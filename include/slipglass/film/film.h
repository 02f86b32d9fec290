#pragma once
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

/// What a film of a tub shows, every photo in the place of the first.
enum class FilmOf {
    photo,  ///< the tub as photographed, turned and scaled onto its first outline
    wall,   ///< the wall unrolled, on its side's reference panel
};

struct FilmWish {
    std::string tub;
    FilmOf of = FilmOf::photo;
    /// Roots in the colour of the day they were first seen, as on the growth map; wall only.
    bool tint_by_age = false;
};

/// A photo that has no place in the film.
struct LeftOut {
    std::string photo;
    std::string why;
};

struct Film {
    std::vector<cv::Mat> frames;  ///< CV_8UC3, all of one size, even sides; tub, date and day written below
    std::vector<Date> dates;      ///< one a frame
    std::vector<LeftOut> left_out;
};

/// The film of one tub, made from the pictures that `measure` left in the season's folder: no photo is
/// needed. Throws Error when the folder holds no season, the tub is not in it (nearest named), or it has no
/// picture of it; and when a tint is asked for that there is no growth map for.
Film filmOf(const std::filesystem::path& season_dir, const FilmWish& wish);

/// Throws Error when no film is made with such an ending: .webp, .mp4 or .webm.
void checkFilmName(const std::filesystem::path& file);

/// Writes frames as animated WebP, or as MP4 (H.264) or WebM (VP9) with the program ffmpeg, by the ending of
/// `file`; whole or not at all. The same frames give the same bytes.
/// @param seconds  each frame is shown so long, 0.04 to 60.
/// Throws Error as checkFilmName does, when ffmpeg is needed and is not there or fails, and when the file
/// cannot be written.
void writeFilm(const std::vector<cv::Mat>& frames, double seconds, const std::filesystem::path& file);

}  // namespace slipglass
