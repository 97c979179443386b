// A written bar as it would be played from the page: each head once, ties as one note, in swing where the bar swings.
#pragma once

#include <vector>

#include "plugin/page/score.h"

namespace seguente::page {

/// One note of a bar. [any]
struct ReadNote {
  double on = 0;  // quarter notes from the bar's start
  double off = 0;
  Ticks at{};  // where it is written
  NoteNumber key{};
  std::uint32_t noteId = 0;
  Source source = Source::melody;
  std::uint8_t part = 0;  // of the idiom, ours only
};

/// In order of onset. What the plain chord holds (Source::held) is not played: the figure is made of it. [message]
std::vector<ReadNote> readingOf(const Bar& bar);

}  // namespace seguente::page
