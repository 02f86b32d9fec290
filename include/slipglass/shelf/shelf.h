#pragma once
#include <atomic>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "slipglass/date.h"

namespace slipglass {

struct ShelfOptions {
    std::filesystem::path season;               ///< the output folder of `measure`; made when it is not there
    std::vector<std::filesystem::path> photos;  ///< more of them, besides those in the season's own `photos`
    int port = 0;                               ///< 0: any that is free
    bool lan = false;                           ///< phones in the local network may come too
    int threads = 0;                            ///< as MeasureOptions
    std::function<Date()> today = slipglass::today;
};

/// A season's pages, served on this computer, and what can be done on them: photos added, tubs named, roots
/// and water corrected, care written down. What is given is written into the season's folder first
/// (photos/, care.csv, corrections/), then measured by `measure`, in a thread of its own; so a kill at any
/// moment loses nothing that was answered.
class Shelf {
public:
    /// Throws Error as Server and SeasonStore do; InUse when another serves the season.
    explicit Shelf(const ShelfOptions& options);
    ~Shelf();
    Shelf(const Shelf&) = delete;
    Shelf& operator=(const Shelf&) = delete;

    std::string address() const;  ///< for this computer's browser
    /// Where a phone goes first, once; see Server::invitation.
    std::string invitation();

private:
    class Served;
    std::unique_ptr<Served> served_;
};

/// The address() of a shelf that this user has running on a season on this computer; empty when there is
/// none, or when it cannot be told (another's, or a file system without rights). Waits some seconds for one
/// that is just starting.
std::optional<std::string> runningShelf(const std::filesystem::path& season);

}  // namespace slipglass
