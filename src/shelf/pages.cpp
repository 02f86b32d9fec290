#include "pages.h"

#include <algorithm>
#include <array>
#include <regex>

#include "slipglass/embed.h"
#include "slipglass/layout/file_names.h"
#include "slipglass/read_file.h"

// SLIPGLASS_SHELF_PAGES: the folder pages/, given by the build, which also builds this anew when one changes.
SLIPGLASS_EMBED(shelf_ask, SLIPGLASS_SHELF_PAGES "/ask.js")
SLIPGLASS_EMBED(shelf_photos, SLIPGLASS_SHELF_PAGES "/photos.js")
SLIPGLASS_EMBED(shelf_which_tub, SLIPGLASS_SHELF_PAGES "/which_tub.js")
SLIPGLASS_EMBED(shelf_questions, SLIPGLASS_SHELF_PAGES "/questions.js")
SLIPGLASS_EMBED(shelf_phone, SLIPGLASS_SHELF_PAGES "/phone.js")
SLIPGLASS_EMBED(shelf_diary, SLIPGLASS_SHELF_PAGES "/diary.js")
SLIPGLASS_EMBED(shelf_script, SLIPGLASS_SHELF_PAGES "/shelf.js")
SLIPGLASS_EMBED(shelf_correct, SLIPGLASS_SHELF_PAGES "/correct.js")
SLIPGLASS_EMBED(shelf_take_back, SLIPGLASS_SHELF_PAGES "/take_back.js")
SLIPGLASS_EMBED(shelf_style, SLIPGLASS_SHELF_PAGES "/shelf.css")
SLIPGLASS_EMBED(shelf_icon, SLIPGLASS_SHELF_PAGES "/icon.svg")
SLIPGLASS_EMBED(shelf_empty, SLIPGLASS_SHELF_PAGES "/empty.html")
SLIPGLASS_EMBED(shelf_plan, SLIPGLASS_SHELF_PAGES "/plan.html")
SLIPGLASS_EMBED(shelf_plan_script, SLIPGLASS_SHELF_PAGES "/plan.js")

namespace slipglass {

namespace fs = std::filesystem;

namespace {

struct Kind {
    const char *ending, *type;
};
constexpr std::array kKinds{Kind{".html", "text/html; charset=utf-8"},
                            Kind{".jpg", "image/jpeg"},
                            Kind{".png", "image/png"},
                            Kind{".svg", "image/svg+xml"},
                            Kind{".webp", "image/webp"},
                            Kind{".mp4", "video/mp4"},
                            Kind{".csv", "text/csv; charset=utf-8"},
                            Kind{".ics", "text/calendar; charset=utf-8"},
                            Kind{".json", "application/json"}};

const Kind* kindOf(const fs::path& path)
{
    const auto kind = std::find_if(kKinds.begin(), kKinds.end(),
                                   [&](const Kind& one) { return path.extension() == one.ending; });
    return kind == kKinds.end() ? nullptr : &*kind;
}

Response notHere()
{
    return {404, "text/plain; charset=utf-8", "Not here.", {}, {}};
}

/// The way from a page to where the shelf's own files are.
std::string upFrom(const std::string& path)
{
    std::string up;
    for (auto n = std::count(path.begin(), path.end(), '/'); n > 0; --n) up += "../";
    return up;
}

/// A page with the shelf's script and style. Its own scripts stay the only others that may run: the policy it
/// brings, which a second one could not widen, moves into the head of the answer and lets in these.
Response withShelf(std::string page, const std::string& path)
{
    static const std::regex policy(R"(<meta http-equiv="Content-Security-Policy" content="([^"]*)\">)");
    std::smatch found;
    std::string allowed = "default-src 'none'; img-src 'self' data:; style-src 'self'; script-src 'self'";
    if (std::regex_search(page, found, policy)) {
        allowed = std::regex_replace(found.str(1), std::regex("(style-src|script-src)"), "$1 'self'");
        page.replace(static_cast<size_t>(found.position(0)), static_cast<size_t>(found.length(0)), "");
    }
    allowed += "; connect-src 'self'; frame-ancestors 'none'";
    const std::string up = upFrom(path);
    const auto put = [&](const std::string& before, const std::string& text) {
        const size_t at = page.rfind(before);
        if (at != std::string::npos) page.insert(at, text);
    };
    put("</body>", "<script src=\"" + up + "shelf.js\"></script>\n");
    put("</head>", "<link rel=\"icon\" type=\"image/svg+xml\" href=\"" + up + "icon.svg\">\n");
    put("</head>", "<link rel=\"stylesheet\" href=\"" + up + "shelf.css\">\n");
    return {200, "text/html; charset=utf-8", std::move(page), {}, {{"Content-Security-Policy", allowed}}};
}

/// A page of the shelf's own, in the look of the season's.
Response ownPage(std::string page, const std::string& path, const Words& words)
{
    const std::string lang = "{{lang}}";
    page.replace(page.find(lang), lang.size(), words.language());
    page.insert(page.rfind("</head>"), "<link rel=\"stylesheet\" href=\"" + upFrom(path) + "page.css\">\n");
    return withShelf(std::move(page), path);
}

}  // namespace

Response pageOf(const fs::path& out, const std::string& path, const Words& words)
{
    const fs::path relative(path);
    const Kind* kind = kindOf(relative);
    if (!kind || relative.empty() || !output::isOne(relative.begin()->string())) return notHere();
    std::error_code failed;
    const fs::path file = fs::canonical(out / relative, failed);
    if (failed || !fs::is_regular_file(file)) {
        // A season without a photo has no pages yet.
        return path == output::kFirstPage
                   ? ownPage(words.inSkeleton(embedded::textOf({embedded::shelf_empty()})), path, words)
                   : notHere();
    }
    const fs::path root = fs::canonical(out);
    if (std::mismatch(root.begin(), root.end(), file.begin(), file.end()).first != root.end())
        return notHere();
    if (kind == &kKinds[0]) return withShelf(readFile(file), path);
    return {200, kind->type, "", file, {}};
}

Response planPage(const Words& words)
{
    return ownPage(words.inSkeleton(embedded::textOf({embedded::shelf_plan()})), "plan", words);
}

std::string shelfScript(const Words& words)
{
    const std::string script =
        embedded::textOf({embedded::shelf_ask(), embedded::shelf_photos(), embedded::shelf_which_tub(),
                          embedded::shelf_questions(), embedded::shelf_phone(), embedded::shelf_diary(),
                          embedded::shelf_plan_script(), embedded::shelf_script(), embedded::shelf_correct(),
                          embedded::shelf_take_back()});
    const std::string said = words.ofScript(script);
    return said.empty() ? script : "const shelfWords = " + said + ";\n" + script;
}

std::string shelfIcon()
{
    return embedded::textOf({embedded::shelf_icon()});
}

std::string shelfStyle()
{
    return embedded::textOf({embedded::shelf_style()});
}

}  // namespace slipglass
