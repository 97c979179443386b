// From spans of sound to printed rhythm: values, ties, rests, triplets, beams.
#pragma once

#include <vector>

#include "plugin/page/score.h"

namespace seguente::page {

/// What begins and ends together in one voice; places counted from the bar's start, the end may lie beyond the bar and
/// the beginning before it. [any]
struct Span {
  Ticks at{}, to{};
  std::vector<Note> notes;
  std::vector<Note> graces;
};

/// The nearest place that can be printed: a thirty-second of its quarter, or a sixth of it where that is nearer by
/// more than a thirty-second's tenth. [any]
Ticks printable(Ticks place);

/// Notes that overlap in one voice, cut where others begin and end, so that what goes on is tied. In order, without
/// overlap; empty spans are dropped. [any]
std::vector<Span> cutAtChanges(std::vector<Span> spans);

/// One voice of one bar: spans in order, without overlap. Fills the bar with rests; sets ties, triplets and beams.
/// before: what an incomplete first bar lacks, so that its beats are the bar's last. playedUntil: from there on rests
/// are not shown. [any]
Voice writeVoice(const std::vector<Span>& spans, Meter meter, Ticks before, Ticks length, Ticks playedUntil);

/// An empty voice: the bar's rest. [any]
Voice restingVoice(Ticks length, bool shown);

}  // namespace seguente::page
