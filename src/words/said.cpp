#include "slipglass/said.h"

namespace slipglass {

SaidPlace::SaidPlace(const char* n, std::string t) : name(n), is(Is::text), text(std::move(t)) {}
SaidPlace::SaidPlace(const char* n, const char* t) : name(n), is(Is::text), text(t) {}
SaidPlace::SaidPlace(const char* n, Date d) : name(n), is(Is::date), date(d) {}
SaidPlace::SaidPlace(const char* n, Mm l) : name(n), is(Is::length), value(l.value), decimals(l.decimals) {}
SaidPlace::SaidPlace(const char* n, BareMm l)
    : name(n), is(Is::bare_length), value(l.value), decimals(l.decimals)
{
}
SaidPlace::SaidPlace(const char* n, Number m) : name(n), is(Is::number), value(m.value), decimals(m.decimals)
{
}
SaidPlace::SaidPlace(const char* n, Kept s) : name(n), is(Is::kept), text(std::move(s.english)) {}
SaidPlace::SaidPlace(const char* n, Text s) : name(n), is(Is::sentences), sentences(std::move(s)) {}

Said said(const char* english, std::vector<SaidPlace> places)
{
    return {english, nullptr, 0, std::move(places)};
}

Said saidOf(long long count, const char* one, const char* many, std::vector<SaidPlace> places)
{
    return {one, many, count, std::move(places)};
}

}  // namespace slipglass
