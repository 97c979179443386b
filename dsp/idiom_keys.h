// Every key that a pattern file may hold, once. The checker refuses others by this list, and a test holds it against
// patterns/pattern.schema.json.
#pragma once

#include <array>
#include <string_view>

namespace seguente::idiomKeys {

inline constexpr std::array<std::string_view, 19> top{
    "format", "id",    "title",     "also",      "about", "meter",      "tempo", "swing",  "swing_range", "swing_pair",
    "rejoin", "crush", "lean_span", "relatives", "parts", "percussion", "lean",  "medium", "full"};
inline constexpr std::array<std::string_view, 8> part{"kind",  "register", "program",     "level",
                                                      "pedal", "off",      "fifth_below", "no_parallels"};
inline constexpr std::array<std::string_view, 11> density{"statement",    "answer",     "lift", "vamp",
                                                          "hold",         "cadence",    "end",  "full_cadence",
                                                          "half_cadence", "turnaround", "short"};
inline constexpr std::array<std::string_view, 2> figure{"bars", "steps"};
inline constexpr std::array<std::string_view, 2> shortForm{"beats", "steps"};
inline constexpr std::array<std::string_view, 7> step{"beat", "length", "part", "play", "stress", "over", "answers"};
inline constexpr std::array<std::string_view, 4> partKinds{"bass", "chords", "counter-line", "percussion"};

}  // namespace seguente::idiomKeys
