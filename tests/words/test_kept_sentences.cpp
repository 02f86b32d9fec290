#include <gtest/gtest.h>

#include <filesystem>
#include <regex>

#include "../support/scratch_folder.h"
#include "slipglass/words.h"

namespace slipglass {
namespace {

namespace fs = std::filesystem;

TEST(KeptSentences, AreReadBackWithWhatStandsInThem)
{
    const Words german({"de", "mm"});
    EXPECT_EQ(german.kept("the label in the photo says T07"), "auf dem Etikett im Foto steht T07");
    EXPECT_EQ(german.kept("water between 3 and 9 mm or none: look"),
              "Wasser zwischen 3 und 9 mm oder keines: nachsehen");
    EXPECT_EQ(german.kept("the picture is blurred; its figures are kept from 2026-03-16"),
              "das Bild ist unscharf; seine Werte bleiben vom 16.\u00a0März 2026");
    EXPECT_EQ(german.kept("part of the tub is outside the picture: its foot, its top"),
              "ein Teil des Bechers ist außerhalb des Bildes: sein Fuß; sein oberer Teil");
}

TEST(KeptSentences, LengthsInThemFollowTheUnit)
{
    EXPECT_EQ(Words({"en", "inch"}).kept("water between 3 and 9 mm or none: look"),
              "water between 0.12 and 0.35 in or none: look");
}

TEST(KeptSentences, WhatIsNoneOfOursStaysAsItIs)
{
    const Words german({"de", "mm"});
    EXPECT_EQ(german.kept("cannot be opened: Permission denied"), "cannot be opened: Permission denied");
    EXPECT_EQ(german.kept("strange; the picture is blurred"), "strange; das Bild ist unscharf");
    EXPECT_EQ(german.kept(""), "");
    std::string endless = "part of the tub is outside the picture: its foot";
    for (int i = 0; i < 200'000; ++i) endless += ", its top";
    EXPECT_EQ(german.kept(endless), endless);
    EXPECT_EQ(Words().kept("the picture is blurred"), "the picture is blurred");
}

/// All literals of the sources, those that are written in pieces as one, but for these sentences themselves.
std::string literalsOfSources()
{
    const fs::path root = fs::path(SLIPGLASS_SAMPLES).parent_path();
    std::string all;
    for (const char* folder : {"src", "include"})
        for (const auto& entry : fs::recursive_directory_iterator(root / folder)) {
            const fs::path& file = entry.path();
            const bool code = file.extension() == ".cpp" || file.extension() == ".h";
            if (code && file.filename() != "kept_sentences.cpp") all += test::readBytes(file);
        }
    return std::regex_replace(all, std::regex(R"re("\s*\n\s*")re"), "");
}

/// How many literals it takes to put it together, each as long as can be found.
int literalsOf(const std::string& text, const std::string& said)
{
    int count = 0;
    for (size_t from = 0; from < text.size(); ++count) {
        size_t size = 1;
        while (from + size < text.size() && said.find(text.substr(from, size + 1)) != std::string::npos)
            ++size;
        from += size;
    }
    return count;
}

// One that nobody says any more would stay English unnoticed.
TEST(KeptSentences, EachIsSaidSomewhereElseInTheSources)
{
    const std::string said = literalsOfSources();
    std::string own =
        test::readBytes(fs::path(SLIPGLASS_SAMPLES).parent_path() / "src/words/kept_sentences.cpp");
    own = std::regex_replace(own, std::regex(R"re("\s*\n\s*")re"), "");
    const std::regex sentence(R"re(translated\(\s*"([^"]*)"\))re");
    int looked_at = 0;
    for (std::sregex_iterator it(own.begin(), own.end(), sentence), end; it != end; ++it) {
        ++looked_at;
        // Sentences are put together from a literal or two; a reworded one would fall into more.
        std::istringstream pieces(std::regex_replace((*it)[1].str(), std::regex(R"(\{\w+\})"), "\n"));
        for (std::string piece; std::getline(pieces, piece);)
            EXPECT_LE(literalsOf(piece, said), 3) << (*it)[1].str();
    }
    EXPECT_GT(looked_at, 80);
}

}  // namespace
}  // namespace slipglass
