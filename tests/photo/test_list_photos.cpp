#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "files.h"
#include "slipglass/error.h"
#include "slipglass/photo/list_photos.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;
using test::TempFolder;

std::vector<std::string> namesOf(const PhotoListing& listing)
{
    std::vector<std::string> names;
    for (const PhotoFile& file : listing.files) names.push_back(file.name);
    return names;
}

std::map<std::string, std::string> problemsOf(const PhotoListing& listing)
{
    std::map<std::string, std::string> reasons;
    for (const Problem& p : listing.problems) {
        EXPECT_EQ(p.state, "not measured");
        EXPECT_FALSE(p.remedy.empty());
        EXPECT_TRUE(reasons.emplace(p.file, p.reason).second) << p.file << " twice";
    }
    return reasons;
}

using Names = std::vector<std::string>;
using Reasons = std::map<std::string, std::string>;

void makeFiles(const TempFolder& folder, const Names& names)
{
    for (const std::string& name : names) test::write(folder / name, "x");
}

TEST(Listing, GoesIntoFoldersAndIsSorted)
{
    const TempFolder folder;
    makeFiles(folder,
              {"T02/b.jpg", "T02/a.JPEG", "a.heic", "T01/2026-01-12/c.PNG", "z.tif", "y.webp", "x.TIFF"});
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), (Names{"T01/2026-01-12/c.PNG", "T02/a.JPEG", "T02/b.jpg", "a.heic", "x.TIFF",
                                       "y.webp", "z.tif"}));
    EXPECT_EQ(problemsOf(listing), Reasons{});
    for (const PhotoFile& file : listing.files) EXPECT_TRUE(fs::is_regular_file(file.path)) << file.path;
}

TEST(Listing, PassesOverHiddenFilesAndCompanionsInSilence)
{
    const TempFolder folder;
    makeFiles(folder, {".hidden.jpg", "._a.jpg", ".git/a.jpg", "batch.csv", "Care.csv", "settings.json",
                       "Thumbs.db", "desktop.ini", "corrections/a.json", "__MACOSX/a.jpg", "a.jpg"});
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), Names{"a.jpg"});
    EXPECT_EQ(problemsOf(listing), Reasons{});
}

TEST(Listing, PassesOverOurOwnOutput)
{
    const TempFolder folder;
    makeFiles(folder, {"a.jpg", "out/season.db", "out/masks/a.roots.png", "out/overlays/T01/2026-01-12.jpg",
                       "out/observations.csv", "out/cuttings.csv", "out/water.csv", "out/growth/T01.png",
                       "out/growth/T01.json", "out/compare/medium.json", "out/report/index.html",
                       "out/report/pictures/T01/2026-01-12.jpg", "masks/kept.png"});
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), (Names{"a.jpg", "masks/kept.png"}));
    EXPECT_EQ(problemsOf(listing), Reasons{});
}

TEST(Listing, NamesEveryOtherFileAsAProblem)
{
    const TempFolder folder;
    makeFiles(folder, {"a.jpg", "notes.txt", "T01/film.mp4", "noending"});
    fs::create_directories(folder / "x.jpg");
    EXPECT_EQ(problemsOf(listPhotos({folder.path()})),
              (Reasons{{"notes.txt", "is not a photo"},
                       {"T01/film.mp4", "is not a photo"},
                       {"noending", "is not a photo"},
                       {"x.jpg", "is a folder, though its name ends like a picture's"}}));
}

TEST(Listing, GoesIntoAFolderWhoseNameEndsLikeAPicture)
{
    const TempFolder folder;
    makeFiles(folder, {"x.jpg/a.jpg"});
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), Names{"x.jpg/a.jpg"});
    EXPECT_EQ(problemsOf(listing), Reasons{});
}

TEST(Listing, OfNothingThereIsAnError)
{
    const TempFolder folder;
    EXPECT_THROW(listPhotos({folder / "missing"}), Error);
    EXPECT_THROW(listPhotos({folder.path(), folder / "missing.jpg"}), Error);
    EXPECT_TRUE(listPhotos({folder.path()}).files.empty());
}

TEST(Listing, SaysWhichFolderCannotBeRead)
{
    const TempFolder folder;
    makeFiles(folder, {"a.jpg", "locked/b.jpg"});
    fs::permissions(folder / "locked", fs::perms::none);
    PhotoListing listing;
    {
        const test::AsNobody nobody;
        listing = listPhotos({folder.path()});
    }
    fs::permissions(folder / "locked", fs::perms::owner_all);
    EXPECT_EQ(namesOf(listing), Names{"a.jpg"});
    EXPECT_EQ(problemsOf(listing), (Reasons{{"locked", "this folder cannot be read: Permission denied"}}));
}

TEST(Link, OutOfTheFolderIsAProblemAndNotFollowed)
{
    const TempFolder folder, elsewhere;
    makeFiles(elsewhere, {"secret.jpg"});
    makeFiles(folder, {"a.jpg"});
    fs::create_symlink(elsewhere / "secret.jpg", folder / "file.jpg");
    fs::create_symlink(elsewhere.path(), folder / "folder");
    fs::create_symlink(folder / "nowhere", folder / "broken.jpg");
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), Names{"a.jpg"});
    EXPECT_EQ(problemsOf(listing),
              (Reasons{{"file.jpg", "is a link that leads out of the folder, and is not followed"},
                       {"folder", "is a link that leads out of the folder, and is not followed"},
                       {"broken.jpg", "is a link that leads nowhere"}}));
}

TEST(Link, ToAFolderThatOnlyStartsWithTheSameNameLeadsOut)
{
    const TempFolder folder;
    makeFiles(folder, {"photos/a.jpg", "photos2/b.jpg"});
    fs::create_symlink(folder / "photos2", folder / "photos/more");
    EXPECT_EQ(namesOf(listPhotos({folder / "photos"})), Names{"a.jpg"});
}

TEST(Link, WithinTheFolderIsFollowedWithoutLoopsAndCountsEachPhotoOnce)
{
    const TempFolder folder;
    makeFiles(folder, {"T01/a.jpg", ".store/b.jpg"});
    fs::create_symlink(folder.path(), folder / "T01/round");
    fs::create_symlink(folder / "T01/a.jpg", folder / "again.jpg");
    fs::create_symlink(folder / ".store/b.jpg", folder / "T02_2026-01-12.jpg");
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), (Names{"T01/a.jpg", "T02_2026-01-12.jpg"}));
    EXPECT_EQ(problemsOf(listing), Reasons{});
}

TEST(Link, GivenAsTheInputItselfIsFollowed)
{
    const TempFolder folder;
    makeFiles(folder, {"real/a.jpg"});
    fs::create_symlink(folder / "real", folder / "T07");
    const auto listing = listPhotos({folder / "T07"});
    ASSERT_EQ(namesOf(listing), Names{"a.jpg"});
    EXPECT_EQ(listing.files[0].named_tub, "T07");
}

TEST(Inputs, ThatOverlapGiveEachPhotoOnceUnderItsLongestName)
{
    const TempFolder folder;
    makeFiles(folder, {"T01/a.jpg", "T01/notes.txt"});
    const std::vector<fs::path> inputs{folder / "T01/a.jpg", folder.path(), folder / "T01", folder / "T01/"};
    const auto listing = listPhotos(inputs);
    EXPECT_EQ(namesOf(listing), Names{"T01/a.jpg"});
    EXPECT_EQ(problemsOf(listing), (Reasons{{"T01/notes.txt", "is not a photo"}}));
    const auto reversed = listPhotos({inputs.rbegin(), inputs.rend()});
    EXPECT_EQ(namesOf(reversed), namesOf(listing));
}

TEST(Inputs, WithTheSameNamesAreToldApartByTheirFolders)
{
    const TempFolder folder;
    makeFiles(folder, {"june/a.jpg", "july/a.jpg", "july/b.jpg"});
    EXPECT_EQ(namesOf(listPhotos({folder / "june", folder / "july"})),
              (Names{"b.jpg", "july/a.jpg", "june/a.jpg"}));
    makeFiles(folder, {"p/x/a.jpg", "q/x/a.jpg"});
    EXPECT_EQ(namesOf(listPhotos({folder / "p/x", folder / "q/x/"})), (Names{"p/x/a.jpg", "q/x/a.jpg"}));
}

TEST(Inputs, ThatAreFilesArePhotosWhateverTheirEnding)
{
    const TempFolder folder;
    makeFiles(folder, {"T03/odd.bin"});
    const auto listing = listPhotos({folder / "T03/odd.bin"});
    ASSERT_EQ(namesOf(listing), Names{"odd.bin"});
    EXPECT_EQ(listing.files[0].named_tub, "T03");
    EXPECT_TRUE(listing.files[0].tub_from_folder);
}

// A USB stick takes names for one that differ in capitals alone.
TEST(Stem, IsApartOnEveryDisk)
{
    const TempFolder folder;
    makeFiles(folder, {"T01/a.jpg", "T01/A.png", "T01/b.jpg", "T01/B.jpg"});
    std::map<std::string, std::string> stems;
    for (const PhotoFile& file : listPhotos({folder.path()}).files) stems[file.name] = file.stem;
    EXPECT_EQ(stems.at("T01/a.jpg"), "T01/a.jpg");
    EXPECT_EQ(stems.at("T01/A.png"), "T01/A.png");
    EXPECT_EQ(stems.at("T01/B.jpg"), "T01/B.jpg");
    EXPECT_EQ(stems.at("T01/b.jpg").substr(0, 10), "T01/b.jpg~");
}

TEST(Stem, KeepsTheEndingOnlyWhereTwoShareTheRest)
{
    const TempFolder folder;
    makeFiles(folder, {"T01/a.jpg", "T01/a.png", "T01/b.c.jpg", "T01/a.jpg.heic", "T02/a.jpg"});
    std::map<std::string, std::string> stems;
    for (const PhotoFile& file : listPhotos({folder.path()}).files) stems[file.name] = file.stem;
    EXPECT_EQ(stems, (std::map<std::string, std::string>{{"T01/a.jpg", "T01/a.jpg"},
                                                         {"T01/a.png", "T01/a.png"},
                                                         {"T01/a.jpg.heic", "T01/a.jpg.heic"},
                                                         {"T01/b.c.jpg", "T01/b.c"},
                                                         {"T02/a.jpg", "T02/a"}}));
}

TEST(Name, ThatIsNotUtf8IsAProblemWithAReadableName)
{
    const TempFolder folder;
    makeFiles(folder, {"caf\xe9.jpg", "cafe\xcc\x81.jpg"});
    const auto listing = listPhotos({folder.path()});
    EXPECT_EQ(namesOf(listing), Names{"cafe\xcc\x81.jpg"});
    EXPECT_EQ(problemsOf(listing), (Reasons{{"caf?.jpg", "its name is not in UTF-8"}}));
}

struct Said {
    std::string tub;  ///< "-" for none
    bool from_folder;
    std::string date;
};

Said saidBy(const std::string& name)
{
    const TempFolder folder;
    makeFiles(folder, {"top/" + name});
    const auto listing = listPhotos({folder / "top"});
    EXPECT_EQ(listing.files.size(), 1U) << name;
    const PhotoFile file = listing.files.at(0);
    return {file.named_tub.value_or("-"), file.tub_from_folder,
            file.named_date ? isoDate(*file.named_date) : "-"};
}

TEST(Tub, AndDayAreReadFromTheName)
{
    const std::vector<std::pair<std::string, std::string>> name_and_tub{
        {"T01_2026-01-12.jpg", "T01"},
        {"T01_2026-01-12_second look.jpg", "T01"},
        {"bed_3_left_2026-01-12_b.jpg", "bed_3_left"},
        {"north-shelf 4_2026-01-12.heic", "north-shelf 4"},
        {"Weißdorn ×2_2026-01-12.jpg", "Weißdorn ×2"},
        {"T01_2026-01-12_2026-01-19.jpg", "T01"},
        {"T99/T01_2026-01-12.jpg", "T01"}};
    for (const auto& [name, tub] : name_and_tub) {
        const Said said = saidBy(name);
        EXPECT_EQ(said.tub, tub) << name;
        EXPECT_FALSE(said.from_folder) << name;
        EXPECT_EQ(said.date, "2026-01-12") << name;
    }
}

TEST(Tub, IsNoneWhereTheNameSaysSo)
{
    for (const std::string name :
         {"no-tub_2026-01-12.jpg", "No-Tub_2026-01-12_IMG_1.jpg", "a/no-tub_2026-01-12"})
        EXPECT_TRUE(saysNoTub(name)) << name;
    for (const std::string name :
         {"no-tub.jpg", "T01_2026-01-12_no-tub_2026-01-13.jpg", "no-tub/2026-01-12.jpg"})
        EXPECT_FALSE(saysNoTub(name)) << name;
}

TEST(Tub, IsElseTheNearestFolderThatIsNotMerelyADate)
{
    const std::vector<std::pair<std::string, std::string>> name_and_tub{
        {"T01/IMG_0001.jpg", "T01"},
        {"shelf/T01/IMG_0001.jpg", "T01"},
        {"T01/2026-01-12/IMG_0001.jpg", "T01"},
        {"T01/20260112/IMG_0001.jpg", "T01"},
        {"T01/2026-01/12.01.2026/IMG_0001.jpg", "T01"},
        {"T01/week 3/IMG_0001.jpg", "week 3"},
        {"T01/2026-01-12 morning/IMG_0001.jpg", "2026-01-12 morning"},
        {"2026-01-12/IMG_0001.jpg", "top"},
        {"IMG_0001.jpg", "top"}};
    for (const auto& [name, tub] : name_and_tub) {
        const Said said = saidBy(name);
        EXPECT_EQ(said.tub, tub) << name;
        EXPECT_TRUE(said.from_folder) << name;
        EXPECT_EQ(said.date, "-") << name;
    }
}

TEST(Tub, OfATopFolderNamedByADateIsUnknown)
{
    const TempFolder folder;
    makeFiles(folder, {"2026-01-12/IMG_0001.jpg"});
    const auto listing = listPhotos({folder / "2026-01-12"});
    ASSERT_EQ(listing.files.size(), 1U);
    EXPECT_EQ(listing.files[0].named_tub, std::nullopt);
    EXPECT_FALSE(listing.files[0].tub_from_folder);
}

TEST(Tub, IsNeverACameraWord)
{
    const Said said = saidBy("T05/IMG_2026-01-12.jpg");
    EXPECT_EQ(said.tub, "T05");
    EXPECT_TRUE(said.from_folder);
    EXPECT_EQ(said.date, "-");  // the camera's date, not one that was typed
}

TEST(TypedDay, AloneNamesTheDayButNoTub)
{
    const Said said = saidBy("T05/2026-01-12_b.jpg");
    EXPECT_EQ(said.tub, "T05");
    EXPECT_TRUE(said.from_folder);
    EXPECT_EQ(said.date, "2026-01-12");
}

}  // namespace
}  // namespace slipglass
