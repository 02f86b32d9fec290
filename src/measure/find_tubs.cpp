#include <opencv2/core/utility.hpp>

#include "begin.h"
#include "run.h"
#include "settle_tubs.h"
#include "slipglass/share.h"
#include "tub_list.h"

namespace slipglass {

namespace {

bool anyOfNoTub(const std::vector<Item>& items)
{
    return std::any_of(items.begin(), items.end(),
                       [](const Item& item) { return !item.problem && item.tubs.empty(); });
}

/// @param items  of photos that do not name their tub, in the order of `files`.
TubList listOf(const std::vector<PhotoFile>& files, const std::vector<Item>& items)
{
    TubList list;
    for (size_t i = 0; i < files.size(); ++i) {
        const Item& item = items[i];
        list[files[i].name] = {item.file.name,   item.file.stem, item.made.content,
                               item.made.labels, item.tubs,      item.problem};
    }
    return list;
}

}  // namespace

FoundTubs findTubs(const MeasureOptions& options, const std::filesystem::path& list,
                   const MeasureEvents& events)
{
    cv::setNumThreads(1);
    Beginning begun = beginOn(options, SeasonStore::Use::read);
    if (!begun.store) begun.store.emplace(":memory:");
    const Run run{options, events, begun.settings, begun.plan, *begun.store, figuresKey(begun.settings)};
    std::vector<PhotoFile> asking, naming;
    for (const PhotoFile& file : listPhotos(options.photos).files)
        (namesItsTub(file, begun.plan) ? naming : asking).push_back(file);

    const KeptPhotos kept(run.store);
    std::vector<Item> items = readItems(asking, begun.plan, begun.settings, kept, options, events);
    FoundTubs found;
    for (const Item& item : items) {
        const bool by_label = item.made.labels && !item.made.labels->empty();
        found.by_label += by_label && !item.tubs.empty();
        found.kept += !by_label && !item.tubs.empty();
    }
    if (anyOfNoTub(items) && !run.stopped()) {
        const std::vector<Item> named = readItems(naming, begun.plan, begun.settings, kept, options, events);
        items.insert(items.end(), named.begin(), named.end());
        MeasureResult result;
        if (!run.stopped()) settleTubs(items, run, result);
        found.by_grains = std::move(result.by_grains);
        items.resize(asking.size());
    }
    found.stopped = run.stopped();
    for (const Item& item : items)
        if (item.problem) found.problems.push_back(*item.problem);
    if (!found.stopped) writeTubList(list, listOf(asking, items));
    return found;
}

}  // namespace slipglass
