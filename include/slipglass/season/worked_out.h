#pragma once
#include <functional>
#include <map>
#include <mutex>
#include <vector>

namespace slipglass {

/// What takes long to reckon, by all that it was reckoned from, number for number: a season of which a few
/// tubs have a new photo reckons for those alone. Nothing that comes out depends on what is known here.
class WorkedOut {
public:
    using Numbers = std::vector<double>;
    using All = std::map<Numbers, Numbers>;

    /// What is known, or else what `reckon` gives.
    /// @param from  begins with a number for the kind of reckoning, which is raised when its code gives
    /// others.
    Numbers of(const Numbers& from, const std::function<Numbers()>& reckon);

    /// Forgets what was asked for, and knows this.
    void know(All known);
    /// All that was asked for since, in finite numbers.
    All asked() const;

private:
    mutable std::mutex mutex_;
    All known_, asked_;
};

/// Of this process: verdicts are asked for from many places, none of which has to do with it.
WorkedOut& workedOut();

}  // namespace slipglass
