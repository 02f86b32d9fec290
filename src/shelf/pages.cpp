#include "pages.h"

#include <algorithm>
#include <array>
#include <regex>

#include "slipglass/layout/file_names.h"
#include "slipglass/season/csv.h"

// SLIPGLASS_SHELF_PAGES: the folder pages/, given by the build, which also builds this anew when one changes.
#define SLIPGLASS_EMBED(name, file)                                    \
    asm(".section .rodata\n"                                           \
        ".global slipglass_shelf_" #name                               \
        "\n"                                                           \
        ".global slipglass_shelf_" #name                               \
        "_end\n"                                                       \
        "slipglass_shelf_" #name                                       \
        ":\n"                                                          \
        ".incbin \"" SLIPGLASS_SHELF_PAGES "/" file                    \
        "\"\n"                                                         \
        "slipglass_shelf_" #name                                       \
        "_end:\n"                                                      \
        ".previous\n");                                                \
    extern "C" const char slipglass_shelf_##name[];                    \
    extern "C" const char slipglass_shelf_##name##_end[];              \
    namespace {                                                        \
    std::string name##Text()                                           \
    {                                                                  \
        return {slipglass_shelf_##name, slipglass_shelf_##name##_end}; \
    }                                                                  \
    }

SLIPGLASS_EMBED(ask, "ask.js")
SLIPGLASS_EMBED(photos, "photos.js")
SLIPGLASS_EMBED(questions, "questions.js")
SLIPGLASS_EMBED(phone, "phone.js")
SLIPGLASS_EMBED(diary, "diary.js")
SLIPGLASS_EMBED(script, "shelf.js")
SLIPGLASS_EMBED(correct, "correct.js")
SLIPGLASS_EMBED(style, "shelf.css")
SLIPGLASS_EMBED(icon, "icon.svg")
SLIPGLASS_EMBED(empty, "empty.html")
SLIPGLASS_EMBED(plan, "plan.html")
SLIPGLASS_EMBED(plan_script, "plan.js")

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
    std::string up;
    for (auto n = std::count(path.begin(), path.end(), '/'); n > 0; --n) up += "../";
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
Response ownPage(std::string page, const std::string& up, const std::string& path)
{
    page.insert(page.rfind("</head>"), "<link rel=\"stylesheet\" href=\"" + up + "page.css\">\n");
    return withShelf(std::move(page), path);
}

}  // namespace

Response pageOf(const fs::path& out, const std::string& path)
{
    const fs::path relative(path);
    const Kind* kind = kindOf(relative);
    if (!kind || relative.empty() || !output::isOne(relative.begin()->string())) return notHere();
    std::error_code failed;
    const fs::path file = fs::canonical(out / relative, failed);
    if (failed || !fs::is_regular_file(file)) {
        // A season without a photo has no pages yet.
        return path == output::kFirstPage ? ownPage(emptyText(), "../", path) : notHere();
    }
    const fs::path root = fs::canonical(out);
    if (std::mismatch(root.begin(), root.end(), file.begin(), file.end()).first != root.end())
        return notHere();
    if (kind == &kKinds[0]) return withShelf(readTextFile(file), path);
    Response picture{200, kind->type, "", file, {}};
    // Kept by the browser, and asked for again only if it changed with its page.
    return picture;
}

Response planPage()
{
    return ownPage(planText(), "", "plan");
}

std::string shelfScript()
{
    return askText() + photosText() + questionsText() + phoneText() + diaryText() + plan_scriptText() +
           scriptText() + correctText();
}

std::string shelfIcon()
{
    return iconText();
}

std::string shelfStyle()
{
    return styleText();
}

}  // namespace slipglass
