#include "as_file.h"
#include "slipglass/corrections/taught.h"
#include "slipglass/layout/page_pictures.h"
#include "slipglass/verify/verify.h"
#include "slipglass/words.h"

namespace slipglass::fuzz {

void taught(Bytes file)
{
    mayRefuse([&] {
        const std::string written = taughtText(readTaught(asFile(file, "taught.json")).value());
        scratch().write("again.json", written);
        require(taughtText(readTaught(scratch() / "again.json").value()) == written,
                "what was taught reads otherwise once written");
    });
}

void observations(Bytes file)
{
    mayRefuse([&] { readObservations(asFile(file, "observations.csv")); });
}

void page_pictures(Bytes file)
{
    Observation seen;
    seen.photo = "T01_2026-01-12.jpg";
    seen.tub = "T01";
    seen.taken.date = kToday;
    const std::string map = growthMapName(seen.tub), legend = growthLegendName(seen.tub);
    const std::string facts = pagePictureNames(overlayName(seen.tub, kToday, 1)).facts;
    asFile({}, "out/" + map);
    asFile(file, "out/" + legend);
    asFile(file, "out/" + facts);
    picturesIn(scratch() / "out", {seen});
}

void truth(Bytes file)
{
    mayRefuse([&] { readTruth(asFile(file, "T01_2026-01-12.truth.json")); });
}

void kept_sentence(Bytes text)
{
    static const Words kLanguages[] = {Words({"en", "inch"}), Words({"de", "mm"}), Words({"es", "mm"})};
    for (const Words& words : kLanguages) words.kept(std::string(textOf(text)));
}

}  // namespace slipglass::fuzz
