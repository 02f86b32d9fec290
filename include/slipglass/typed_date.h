#pragma once
#include <optional>
#include <string>

#include "slipglass/date.h"

namespace slipglass {

/// A day as a person or a spreadsheet wrote it; or, where there is none, what is wrong and what to do:
/// "is '05/06/2026', which may be 5 June or 6 May", "Write 2026-06-05 or 2026-05-06".
struct TypedDate {
    std::optional<Date> date;
    std::string problem, remedy;
};

/// Takes YYYY-MM-DD, and other forms where one day alone can be meant: 2026/11/27, 27/11/2026, 11/27/2026,
/// 27.11.2026, 27-11-2026, 27 Nov 2026, 27-November-2026, Nov 27, 2026. Refuses
/// years of two digits, days with two meanings (day and month both 12 or less, and different), days that the
/// calendar does not have, and those before 2000.
/// @param writing  put behind a remedy that says how to write it, such as "; in a spreadsheet, ...".
TypedDate typedDate(const std::string& text, const std::string& writing = "");

}  // namespace slipglass
