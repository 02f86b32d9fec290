#include "begin.h"

#include "given_beside.h"
#include "slipglass/layout/file_names.h"

namespace slipglass {

Beginning beginOn(const MeasureOptions& options, SeasonStore::Use use)
{
    Beginning begun;
    const std::filesystem::path file = options.out / output::kSeason;
    if (std::filesystem::exists(file)) {
        begun.store.emplace(file, use);
        checkClock(*begun.store, options.today);
        begun.before = givenIn(*begun.store).value_or(Given{});
        begun.share = shareIn(*begun.store);
    }
    begun.beside = givenBeside(options, begun.before, begun.as_given_before);
    begun.settings = settingsIn(begun.beside.settings, options.today);
    static_cast<VerdictSettings&>(begun.beside) = begun.settings;
    begun.plan = planIn(begun.beside.plan, begun.settings, options.today);
    return begun;
}

}  // namespace slipglass
