#include "kept_sentences.h"

#include <charconv>

namespace slipglass {

namespace {

/// As photo, tub, measure and season say them, those with much of their own before those with little. A place
/// called "date" or "..._date" holds a day, "length" and "low" a length in mm, "why" another of these
/// sentences, "parts" several; any other is told as it stands.
constexpr const char* kSentences[] = {
    // Observation::notes
    translated("the water line set by hand lies beside the tub and was left out"),
    translated("the water line set by hand was left out: its height above the base is not known"),
    translated("water line set by hand"),
    translated("outline set by hand"),
    translated("roots corrected by hand"),
    translated(
        "heights above the base not known: they need the tub's foot in the picture, or its type in the plan"),
    translated("no scale: lengths need a label or a tub type in the plan"),
    translated("tub known by the grains of its wall"),
    translated("the label in the photo says {tub}"),
    translated("by its grains it shows the wall of {tub}"),
    translated("water not known: the tub's foot is not in sight"),
    translated("water not known: the tub's place is in doubt"),
    translated("water between {low} and {length} or none: look"),
    translated("water or none: look"),
    translated("water between {low} and {length} behind the label or glare"),
    translated("water behind the label or glare"),
    translated("water stands at the medium's surface"),
    translated("not the side of the tub seen on earlier photos"),
    translated("not compared with earlier photos: it has no scale, or they have none"),
    translated("the cuttings' parts of the wall could not be told apart on this photo"),
    translated("label and tub type disagree about the tub's size"),
    translated("the type was believed, since its shape fits the picture"),
    translated("the label was believed, since the type's shape does not fit the picture"),
    translated("the tub is too small in the picture"),
    translated("the tub is small in the picture"),
    translated("the picture is blurred"),
    translated("the picture is a little blurred"),
    translated("most of the tub is outside the picture: {parts} ({percent} % of its front is seen)"),
    translated("part of the tub is outside the picture: {parts} ({percent} % of its front is seen)"),
    translated("most of the tub is outside the picture: {parts}"),
    translated("part of the tub is outside the picture: {parts}"),
    translated("its left side"),
    translated("its right side"),
    translated("its foot"),
    translated("its top"),
    translated("medium seems to reach the rim: perhaps part of a tub was taken for the whole"),
    translated("the picture is too dark (median L* of the wall {lightness})"),
    translated("the picture is dark (median L* of the wall {lightness})"),
    translated("the picture is burnt out in part ({percent} % of the wall)"),
    translated("the picture is burnt out ({percent} % of the wall)"),
    translated("glare hides most of the wall"),
    translated("glare hides part of the wall"),
    translated("the picture is tilted"),
    translated("a side of the tub is hard to see"),
    translated("the foot of the tub is hard to see"),
    translated("the sides do not narrow towards the foot"),
    translated("the edges that are seen do not fit the shape of a tub"),
    translated("where the medium is seen does not fit the outline of a tub"),
    translated("the outline set by hand is not that of a tub"),
    translated("no tub of medium can be seen"),
    translated("no two sides and foot of a tub can be made out"),
    translated("no tub could be made out for certain: {why}"),
    // Problem::state
    translated("not measured"),
    translated("caution"),
    translated("retake"),
    // Problem::reason
    translated("no date in its name or EXIF data"),
    translated("its name says {day}, a day the calendar does not have"),
    translated("its name says {day}, after today, {date}"),
    translated("its EXIF date is {day}, after today, {date}"),
    translated("is empty (0 bytes)"),
    translated("is not a picture of a kind that can be read"),
    translated("is a folder, though its name ends like a picture's"),
    translated("is {what} pixels, more than {n} megapixels"),
    translated("is {what} pixels, more than {n} in a row or column"),
    translated("is an animation, not a photo"),
    translated("is a GIF, as animations and drawings are, not a photo"),
    translated("is a pipe or a device, not a file"),
    translated("there is too little memory for it"),
    translated("slipglass failed on this picture: {what}"),
    translated("cannot be read to its end"),
    translated("damaged JPEG: {what}"),
    translated("damaged PNG: {what}"),
    translated("damaged WebP: {what}"),
    translated("damaged HEIC: {what}"),
    translated("damaged TIFF: {what}"),
    translated("no tub known: its name does not tell it, no label can be read in the picture, and no tub can "
               "be made "
               "out"),
    translated(
        "no tub known: its name does not tell it, no label can be read in the picture, and its wall may be "
        "that of {tubs}"),
    translated(
        "no tub known: its name does not tell it, no label can be read in the picture, and its wall is none "
        "that is known"),
    translated("the folder's photos do not show one wall"),
    translated("its label says '{tub}', which is no tub of the plan"),
    translated("its figures are kept from {date}"),
    translated("its figures are kept"),
    translated("what the season file keeps of its wall is damaged"),
    // Problem::remedy
    translated("Go closer, so that the tub fills two thirds of the picture"),
    translated("the medium's surface was read {length} higher than on the photos around it"),
    translated("the medium's surface was read {length} lower than on the photos around it"),
    translated("Tap on the medium to focus, hold the phone still, add light"),
    translated("Take the whole tub, from rim to table"),
    translated(
        "Photograph the whole tub without glare, against a plain background, and check its tub_type in the "
        "plan"),
    translated("Add light, or tap on the medium so that the phone exposes for it"),
    translated("Tap on the medium so that the phone exposes for it, no flash"),
    translated("Turn the tub or yourself away from the window, no flash"),
    translated("Hold the phone upright"),
    translated("Photograph the tub against a plain background"),
    translated("If no medium was added or taken out, photograph the tub against a plain background, with "
               "drops and mist "
               "wiped off the wall above the medium"),
    translated(
        "Photograph one tub upright and whole, filling about two thirds of the picture, against a plain "
        "background"),
    translated("Check that the labels were printed at 100 %, or correct tub_type in the plan"),
    translated("Correct tub_type in the plan, or check that the labels were printed at 100 %"),
    translated("If it is that tub, rename the photo or move it to that tub's folder"),
    translated("Set its corners anew: where the sides, drawn on straight, meet the rim and the table"),
    translated("Start the file name with the tub and the day: TUB_YYYY-MM-DD"),
    translated(
        "Start the file name with the tub and the date, as in T01_2026-01-12.jpg, put it into a folder that "
        "the plan names, or stick a label on the tub"),
    translated("Copy it from the phone again, or take the photo again"),
    translated("Give a JPEG, PNG, TIFF, WebP or HEIC picture"),
    translated("Add the tub to the plan, or photograph the tub's own label"),
    translated("Put the photo back into the folder, and it is measured again"),
    translated("Rename it"),
    translated("Save it smaller, or allow more with photos.{what} in settings.json"),
    translated("Save it smaller, or give fewer --threads"),
    translated("Take the photo again, and please report this one"),
    // SeasonReport::warnings
    translated("{tub}: differs from '{other}' in capitals only; if that is one tub, correct the name on its "
               "photos"),
    translated("{tub}: this tub is on photos and not in the plan; add a row for it, or correct the name on "
               "its photos"),
    translated("{cutting}: {n} photo(s) from before it was stuck on {date}; check the dates"),
    translated(
        "{cutting}: given up on {date} and potted up on {other_date}; the earlier holds, remove the other"),
    translated(
        "{tub}: {why}, so the roots of its cuttings cannot be told apart; give each its own of left, middle "
        "and right, as seen on the photo"),
    translated("{line}: the tub '{tub}' is neither in the plan nor on a photo; did you mean '{other}'?"),
    translated("{line}: the tub '{tub}' is neither in the plan nor on a photo"),
    translated(
        "{line}: date is {date}, before anything was stuck in the tub '{tub}' ({stuck_date}); is it right?"),
    translated("{line}: the cutting '{cutting}' is not in the tub '{tub}'"),
    translated("{line}: {column} is {date}, which is still to come; is the year right?"),
    translated("{file}: the column '{column}' is not read; did you mean '{other}'?"),
    translated("{file}: the column '{column}' is not read"),
    translated("{line}: the tub '{tub}' holds more than three cuttings; is that meant?"),
    translated("{line}: '{one}' and '{other}' differ in capitals only, and may share files on some disks"),
    // TubParts::shared
    translated("{one} and {other} have the same position, {position}"),
    translated("the position of {cutting} is not left, middle or right"),
};

/// "8 mm", "8".
std::optional<SaidPlace> lengthIn(const char* name, std::string_view text)
{
    double mm = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), mm);
    const std::string_view rest(end, static_cast<size_t>(text.data() + text.size() - end));
    if (error != std::errc() || (rest != " mm" && !rest.empty())) return std::nullopt;
    return rest.empty() ? SaidPlace(name, BareMm{mm}) : SaidPlace(name, Mm{mm});
}

/// "its foot, its top".
Text partsIn(std::string_view text)
{
    const size_t end = text.find(", ");
    Text parts{said("{part}", {{"part", Kept{std::string(text.substr(0, end))}}})};
    if (end == std::string_view::npos) return parts;
    for (Said& part : partsIn(text.substr(end + 2))) parts.push_back(std::move(part));
    return parts;
}

/// Empty where the text cannot stand there.
std::optional<SaidPlace> placeOf(const char* name, std::string_view text)
{
    const std::string_view called = name;
    if (text.empty()) return std::nullopt;
    if (called.ends_with("date")) {
        const auto day = parseIsoDate(text);
        return day ? std::optional<SaidPlace>({name, *day}) : std::nullopt;
    }
    if (called == "length" || called == "low") return lengthIn(name, text);
    if (called == "parts") return SaidPlace(name, partsIn(text));
    if (called == "why") return SaidPlace(name, Kept{std::string(text)});
    return SaidPlace(name, std::string(text));
}

/// Names of places must outlive what is said: each is kept once.
const char* lasting(std::string_view name)
{
    static constexpr const char* kNames[] = {
        "tub",  "low",   "length",     "parts",  "percent", "lightness", "why",
        "day",  "date",  "what",       "tubs",   "cutting", "n",         "other_date",
        "line", "other", "stuck_date", "column", "file",    "one",       "position"};
    for (const char* one : kNames)
        if (name == one) return one;
    return "";
}

/// What stands in the sentence's places; empty where the text is another one.
std::optional<std::vector<SaidPlace>> matched(std::string_view sentence, std::string_view text)
{
    std::vector<SaidPlace> places;
    for (;;) {
        const size_t open = sentence.find('{');
        const std::string_view before = sentence.substr(0, open);
        if (!text.starts_with(before)) return std::nullopt;
        text.remove_prefix(before.size());
        if (open == std::string_view::npos)
            return text.empty() ? std::optional<std::vector<SaidPlace>>(std::move(places)) : std::nullopt;
        const size_t close = sentence.find('}', open);
        const char* name = lasting(sentence.substr(open + 1, close - open - 1));
        sentence.remove_prefix(close + 1);
        const std::string_view after = sentence.substr(0, sentence.find('{'));
        const size_t end = after.empty() ? text.size() : text.find(after);
        if (end == std::string_view::npos) return std::nullopt;
        const auto place = placeOf(name, text.substr(0, end));
        if (!place) return std::nullopt;
        places.push_back(*place);
        text.remove_prefix(end);
    }
}

}  // namespace

std::optional<Said> keptSentence(const std::string& english)
{
    constexpr size_t kLongest = 2000;  // parts are told in calls within calls; ours have some hundred letters
    if (english.size() > kLongest) return std::nullopt;
    for (const char* sentence : kSentences)
        if (auto places = matched(sentence, english)) return said(sentence, std::move(*places));
    return std::nullopt;
}

}  // namespace slipglass
