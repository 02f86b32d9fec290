#pragma once
// Private to store: rows of the season file as values, and back.
#include <map>
#include <string>
#include <vector>

#include "slipglass/store/season_store.h"
#include "sqlite.h"

namespace slipglass {

/// The observation's columns and the photo's, as the functions below read and write them.
std::string observationColumns();
constexpr const char* kMadeColumns = "content, program, settings, moved, tubs, corrected, labels";
constexpr const char* kProblemColumns = "file, tub, state, reason, remedy";
/// Names of all figures, each followed by a text and a comma.
std::string figureNames(const char* suffix);

void insertPhoto(sqlite::Connection& to, const std::string& photo, const MadeFrom& made,
                 const std::optional<Date>& measured_on);
void insertObservation(sqlite::Connection& to, const Observation& seen);
void insertProblem(sqlite::Connection& to, const std::string& photo, int place, const Problem& problem);
void insertView(sqlite::Connection& to, const std::string& photo, const KeptView& view);

/// @param file  for messages: throws Error naming it on rows that slipglass did not write.
MadeFrom readMadeFrom(sqlite::Statement& row, const std::string& file);
std::vector<Observation> readObservations(sqlite::Statement& query, const std::string& file);
std::vector<Problem> readProblems(sqlite::Statement& query);

/// Of one photo, by tub.
std::vector<Observation> observationsOf(sqlite::Connection& file, const std::string& photo);

/// All of a photo; empty when there is none.
std::optional<StoredPhoto> readPhoto(sqlite::Connection& file, const std::string& photo);

/// All photos, by name.
std::map<std::string, StoredPhoto> readPhotos(sqlite::Connection& file);

std::string labelsText(const std::vector<std::string>& labels);

}  // namespace slipglass
