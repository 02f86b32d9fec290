#include "page_files.h"

#include "slipglass/report/page_style.h"

// SLIPGLASS_PAGES: the folder pages/, given by the build, which also builds this anew when one of them
// changes.
#define SLIPGLASS_EMBED(name, file)                                  \
    asm(".section .rodata\n"                                         \
        ".global slipglass_page_" #name                              \
        "\n"                                                         \
        ".global slipglass_page_" #name                              \
        "_end\n"                                                     \
        "slipglass_page_" #name                                      \
        ":\n"                                                        \
        ".incbin \"" SLIPGLASS_PAGES "/" file                        \
        "\"\n"                                                       \
        "slipglass_page_" #name                                      \
        "_end:\n"                                                    \
        ".previous\n");                                              \
    extern "C" const char slipglass_page_##name[];                   \
    extern "C" const char slipglass_page_##name##_end[];             \
    namespace {                                                      \
    std::string name##Text()                                         \
    {                                                                \
        return {slipglass_page_##name, slipglass_page_##name##_end}; \
    }                                                                \
    }

SLIPGLASS_EMBED(style, "page.css")
SLIPGLASS_EMBED(head, "head.mustache")
SLIPGLASS_EMBED(cautions, "cautions.mustache")
SLIPGLASS_EMBED(season_head, "season_head.mustache")
SLIPGLASS_EMBED(season_main, "season_main.mustache")
SLIPGLASS_EMBED(season, "season.mustache")
SLIPGLASS_EMBED(one_file, "one_file.mustache")
SLIPGLASS_EMBED(season_js, "season.js")
SLIPGLASS_EMBED(bench_sheet, "bench_sheet.mustache")
SLIPGLASS_EMBED(cutting, "cutting.mustache")
SLIPGLASS_EMBED(age, "age.js")
SLIPGLASS_EMBED(save_as, "save_as.js")
SLIPGLASS_EMBED(viewer, "viewer.js")
SLIPGLASS_EMBED(graph, "graph.js")
SLIPGLASS_EMBED(easel, "easel.js")
SLIPGLASS_EMBED(unsaved, "unsaved.js")
SLIPGLASS_EMBED(touch_up, "touch_up.js")

namespace slipglass::page_file {

std::string style()
{
    return styleText();
}

const std::map<std::string, std::string (*)()>& parts()
{
    static const std::map<std::string, std::string (*)()> all{{"head", headText},
                                                              {"cautions", cautionsText},
                                                              {"season_head", season_headText},
                                                              {"season_main", season_mainText}};
    return all;
}

std::string oneFile()
{
    return one_fileText();
}

std::string season()
{
    return seasonText();
}

std::string seasonScript()
{
    return ageText() + season_jsText();
}

std::string benchSheet()
{
    return bench_sheetText();
}

std::string benchSheetScript()
{
    return ageText();
}

std::string cutting()
{
    return cuttingText();
}

std::string cuttingScript()
{
    return ageText() + save_asText() + viewerText() + graphText() + easelText() + unsavedText() +
           touch_upText();
}

}  // namespace slipglass::page_file

std::string slipglass::pageStyle()
{
    return page_file::style();
}
