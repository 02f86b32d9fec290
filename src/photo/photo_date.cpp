#include "photo_date.h"

#include <algorithm>
#include <cstdio>

#include "file_name.h"
#include "slipglass/error.h"
#include "slipglass/photo/read_photo.h"

namespace slipglass {

namespace {

using namespace std::chrono_literals;

const char* const kRemedy = "Start the file name with the tub and the day: TUB_YYYY-MM-DD";

std::string text(const TakenAt& taken)
{
    if (!taken.second_of_day) return isoDate(taken.date);
    const int s = *taken.second_of_day;
    char time[32];
    std::snprintf(time, sizeof time, " %02d:%02d:%02d", s / 3600, s / 60 % 60, s % 60);
    return isoDate(taken.date) + time;
}

/// A clock that starts again after the battery was out. All from memory: cameras begin at 1 January of the
/// year of their firmware at midnight, 2000-01-01 above all (then whatever the hour: it runs on from there);
/// some phones write noon of 2002-12-08.
bool isResetDate(const TakenAt& taken)
{
    constexpr int kHour = 3600;
    if (taken.date == Date{2000y / 1 / 1}) return true;
    if (taken.date == Date{2002y / 12 / 8} && taken.second_of_day == 12 * kHour) return true;
    const bool new_year = taken.date.month() == std::chrono::January && taken.date.day() == 1d;
    return new_year && taken.date.year() <= 2020y && taken.second_of_day && *taken.second_of_day < kHour;
}

/// The typed day, with the time of day of the first clock that shows the same day.
TakenAt onTypedDay(Date day, const PhotoFacts& facts, const NameFacts& name)
{
    if (facts.exif_taken && facts.exif_taken->date == day && facts.exif_taken->second_of_day)
        return *facts.exif_taken;
    for (const TakenAt& phone : name.phone_dates) {
        if (phone.date == day && phone.second_of_day) return phone;
    }
    return {day, std::nullopt};
}

TakenAt takenFromTyped(const std::string& typed, const PhotoFile& file, const PhotoFacts& facts,
                       const NameFacts& name, Date today)
{
    const auto day = parseIsoDate(typed);
    if (!day)
        throw Error(file.name, "its name says " + typed + ", a day the calendar does not have", kRemedy);
    const std::string why = whyImpossible({*day, std::nullopt}, today);
    if (!why.empty()) throw Error(file.name, "its name says " + typed + ", " + why, kRemedy);
    return onTypedDay(*day, facts, name);
}

}  // namespace

std::optional<TakenAt> parseExifDateTime(const std::string& text)
{
    if (text.size() != 19 || text[4] != ':' || text[7] != ':' || text[10] != ' ' || text[13] != ':' ||
        text[16] != ':')
        return std::nullopt;
    const auto date = parseIsoDate(text.substr(0, 4) + "-" + text.substr(5, 2) + "-" + text.substr(8, 2));
    const std::string time = text.substr(11, 2) + text.substr(14, 2) + text.substr(17, 2);
    if (!date || !std::all_of(time.begin(), time.end(), [](char c) { return c >= '0' && c <= '9'; }))
        return std::nullopt;
    const int hour = std::stoi(time.substr(0, 2)), minute = std::stoi(time.substr(2, 2)),
              second = std::stoi(time.substr(4, 2));
    if (hour > 23 || minute > 59 || second > 59) return std::nullopt;
    return TakenAt{*date, (hour * 60 + minute) * 60 + second};
}

bool isUnknownExifDateTime(const std::string& text)
{
    return text.find_first_not_of(" :0") == std::string::npos;
}

std::string whyImpossible(const TakenAt& taken, std::optional<Date> today)
{
    if (taken.date < Date{2000y / 1 / 1}) return "before 2000, when no phone took photos";
    if (isResetDate(taken)) return "which is what a clock shows after a reset";
    if (today && taken.date > *today) return "after today, " + isoDate(*today);
    return "";
}

TakenAt takenAt(const PhotoFile& file, const PhotoFacts& facts, Date today)
{
    const NameFacts name = readName(file.path.stem().string());
    if (file.named_date) return takenFromTyped(isoDate(*file.named_date), file, facts, name, today);
    if (name.typed)
        return takenFromTyped(*name.typed, file, facts, name, today);  // typed, but no day: says so

    std::string doubt = facts.why_no_date;
    if (facts.exif_taken) {
        const std::string why = whyImpossible(*facts.exif_taken, today);
        if (why.empty()) return *facts.exif_taken;
        doubt = "its EXIF date is " + text(*facts.exif_taken) + ", " + why;
    }
    for (const TakenAt& phone : name.phone_dates) {
        const std::string why = whyImpossible(phone, today);
        if (why.empty()) return phone;
        if (doubt.empty()) doubt = "its name says " + text(phone) + ", " + why;
    }
    throw Error(file.name, doubt.empty() ? "no date in its name or EXIF data" : doubt, kRemedy);
}

}  // namespace slipglass
