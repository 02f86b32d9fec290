#include "try_photo.h"

#include <algorithm>

#include "slipglass/error.h"
#include "slipglass/no_memory.h"

namespace slipglass {

bool isPassing(const Problem& problem)
{
    return problem.reason == kNoMemoryForIt;
}

std::optional<Problem> tryPhoto(const std::string& photo, const std::string& tub,
                                const std::function<void()>& work)
{
    const auto problem = [&](const std::string& why, const std::string& remedy) {
        return Problem{photo, tub, "not measured", why, remedy};
    };
    try {
        work();
        return std::nullopt;
    } catch (const RunError&) {
        throw;
    } catch (const Error& error) {
        return problem(error.problem(), error.remedy());
    } catch (const std::exception& bug) {
        if (saysNoMemory(bug)) return problem(kNoMemoryForIt, kNeedLessMemory);
        std::string what = bug.what();
        what.erase(what.find_last_not_of(" \n.") + 1);  // ours goes on behind it, on the same line
        std::replace(what.begin(), what.end(), '\n', ' ');
        const Error cut(photo, "slipglass failed on this picture: " + what,
                        "Take the photo again, and please report this one");
        return problem(cut.problem(), cut.remedy());
    }
}

}  // namespace slipglass
