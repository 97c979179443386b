// A page in a test: what the engine said, told to a writer; and the laws that any written bar keeps.
#pragma once

#include <string>
#include <vector>

#include "plugin/page/writer.h"
#include "tests/support/harness.h"

namespace seguente::test {

/// What the engine's run tells a page, in order of sample. idioms: those that played, for the kinds of parts. [message]
std::vector<page::Told> toldOf(const Rendering& rendering, const Score& score, const Idiom& idiom);

/// Every bar that a page keeps, settled or not.
std::vector<page::Bar> barsOf(page::Writer& writer);

/// "" or what is wrong: voices that do not fill the bar, values that are not their lengths, ties to nothing, triplets
/// that are not three in the time of two, heads whose name is not their key, beams over rests.
std::string faultOf(const page::Bar& bar);
/// The same between two bars that follow each other: a tie over the bar line arrives.
std::string faultBetween(const page::Bar& bar, const page::Bar& next);

/// One note as a reader adds it up: ties joined.
struct ReadNote {
  std::uint32_t noteId = 0;
  page::Source source{};
  NoteNumber key{};
  int step = 0;
  int alteration = 0;
  Ticks at{}, length{};
  NoteReason reason{};
  bool grace = false;
};
std::vector<ReadNote> readBack(const std::vector<page::Bar>& bars);

}  // namespace seguente::test
