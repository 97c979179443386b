// Repeat signs of a chart, played out: repeats, endings, da capo, dal segno, fine.
// Sources: the ABC standard 2.1, sections 4.8 and 4.9; MusicXML 4.0, elements repeat, ending, sound. After a da capo or
// dal segno repeats are not taken again, and the last ending is: common practice, no source.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "plugin/commandline/checked.h"

namespace seguente {

/// A sign at a place; places count as the reader of the chart counts: ticks, or bars. [any]
struct RepeatSign {
  enum class Kind : std::uint8_t { forward, backward, ending, endingStops, segno, fine, daCapo, dalSegno };
  std::int64_t at = 0;
  Kind kind = Kind::forward;
  int times = 2;              // backward
  std::uint32_t numbers = 0;  // ending: bit n for the n-th time
};

/// From one place to before another. [any]
struct PlayedStretch {
  std::int64_t from = 0, to = 0;
};

/// The stretches in the order in which they are played. Signs in the order of reading; one place may have several.
/// errors: a piece that would never end. [message]
Checked<std::vector<PlayedStretch>> playedOut(const std::vector<RepeatSign>& signs, std::int64_t end);

/// "1", "1,2", "1-3" as bits; 0 when it is none. [any]
std::uint32_t endingNumbers(std::string_view text);

}  // namespace seguente
