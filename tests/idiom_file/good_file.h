// One good pattern file, small enough to count its lines by eye; the tests of faults change one thing in it at a time.
#pragma once

#include <string>
#include <string_view>

namespace seguente::test {

inline constexpr std::string_view goodFile = R"(format = 1
id = "oom-pah"
title = "Oom-pah"
also = ["march bass"]
about = "Bass on the beat, chord after it."
meter = "4/4"
tempo = [80, 120]
swing = 1.5
swing_range = [1.0, 2.0]
rejoin = [1, 3]
crush = "1/12"

[relatives]
"3/4" = "waltz"

[parts.bass]
kind = "bass"
register = ["E2", "E3"]
program = 0
level = 80

[parts.chords]
kind = "chords"
register = ["C3", "C4"]

[parts.drum]
kind = "percussion"

[lean]
statement = [
  { beat = 1, length = 1, part = "bass", play = "1", stress = 1 },
  { beat = 2, length = 1, part = "chords", play = "C" },
  { beat = "3 1/2", length = "1/2", part = "bass", play = "5" },
]

[[lean.short]]
beats = 2
steps = [ { beat = 1, length = 2, part = "bass", play = "1" } ]

[medium.statement]
bars = 2
steps = [
  { beat = 1, length = 4, part = "bass", play = "1" },
  { beat = 1, length = 1, part = "drum", play = "side stick" },
  { beat = "8 1/2", length = 1, part = "chords", play = "b3>3" },
]
)";

/// The good file with the first `from` replaced; empty when it is not in there, so that no test passes by a slip.
inline std::string changed(std::string_view from, std::string_view to) {
  std::string text(goodFile);
  const auto at = text.find(from);
  if (at == std::string::npos) return {};
  return text.replace(at, from.size(), to);
}

}  // namespace seguente::test
