#include "page_files.h"

#include "slipglass/embed.h"
#include "slipglass/report/page_style.h"

// SLIPGLASS_PAGES: the folder pages/, given by the build, which also builds this anew when one of them
// changes.
SLIPGLASS_EMBED(page_style, SLIPGLASS_PAGES "/page.css")
SLIPGLASS_EMBED(page_head, SLIPGLASS_PAGES "/head.mustache")
SLIPGLASS_EMBED(page_cautions, SLIPGLASS_PAGES "/cautions.mustache")
SLIPGLASS_EMBED(page_season_head, SLIPGLASS_PAGES "/season_head.mustache")
SLIPGLASS_EMBED(page_season_main, SLIPGLASS_PAGES "/season_main.mustache")
SLIPGLASS_EMBED(page_card, SLIPGLASS_PAGES "/card.mustache")
SLIPGLASS_EMBED(page_season, SLIPGLASS_PAGES "/season.mustache")
SLIPGLASS_EMBED(page_one_file, SLIPGLASS_PAGES "/one_file.mustache")
SLIPGLASS_EMBED(page_season_js, SLIPGLASS_PAGES "/season.js")
SLIPGLASS_EMBED(page_bench_sheet, SLIPGLASS_PAGES "/bench_sheet.mustache")
SLIPGLASS_EMBED(page_cutting, SLIPGLASS_PAGES "/cutting.mustache")
SLIPGLASS_EMBED(page_words, SLIPGLASS_PAGES "/words.js")
SLIPGLASS_EMBED(page_age, SLIPGLASS_PAGES "/age.js")
SLIPGLASS_EMBED(page_save_as, SLIPGLASS_PAGES "/save_as.js")
SLIPGLASS_EMBED(page_viewer, SLIPGLASS_PAGES "/viewer.js")
SLIPGLASS_EMBED(page_graph, SLIPGLASS_PAGES "/graph.js")
SLIPGLASS_EMBED(page_easel, SLIPGLASS_PAGES "/easel.js")
SLIPGLASS_EMBED(page_unsaved, SLIPGLASS_PAGES "/unsaved.js")
SLIPGLASS_EMBED(page_sketch, SLIPGLASS_PAGES "/sketch.js")
SLIPGLASS_EMBED(page_touch_up, SLIPGLASS_PAGES "/touch_up.js")

namespace slipglass::page_file {

std::string style()
{
    return embedded::textOf({embedded::page_style()});
}

const std::map<std::string, std::string_view>& parts()
{
    static const std::map<std::string, std::string_view> all{{"head", embedded::page_head()},
                                                             {"cautions", embedded::page_cautions()},
                                                             {"season_head", embedded::page_season_head()},
                                                             {"season_main", embedded::page_season_main()},
                                                             {"card", embedded::page_card()}};
    return all;
}

std::string oneFile()
{
    return embedded::textOf({embedded::page_one_file()});
}

std::string season()
{
    return embedded::textOf({embedded::page_season()});
}

std::string seasonScript()
{
    return embedded::textOf({embedded::page_words(), embedded::page_age(), embedded::page_season_js()});
}

std::string benchSheet()
{
    return embedded::textOf({embedded::page_bench_sheet()});
}

std::string benchSheetScript()
{
    return embedded::textOf({embedded::page_words(), embedded::page_age()});
}

std::string cutting()
{
    return embedded::textOf({embedded::page_cutting()});
}

std::string cuttingScript()
{
    return embedded::textOf({embedded::page_words(), embedded::page_age(), embedded::page_save_as(),
                             embedded::page_viewer(), embedded::page_graph(), embedded::page_easel(),
                             embedded::page_unsaved(), embedded::page_sketch(), embedded::page_touch_up()});
}

}  // namespace slipglass::page_file

std::string slipglass::pageStyle()
{
    return page_file::style();
}
