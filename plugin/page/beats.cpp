#include "plugin/page/beats.h"

#include <algorithm>

namespace seguente::page {

namespace {

constexpr Ticks zero{};

bool divides(Ticks unit, Ticks place) { return place.value % unit.value == 0; }

/// A plain or dotted value of exactly this length.
std::optional<Value> valueOf(Ticks length) {
  for (std::uint8_t power = 0; power <= 5; ++power)
    for (std::uint8_t dots = 0; dots <= 1; ++dots)
      if (const Value value{power, dots}; value.length() == length) return value;
  return std::nullopt;
}

/// The strongest place strictly between a and b.
Ticks heaviest(Ticks a, Ticks b, Meter meter, Ticks length) {
  Ticks most{};
  for (Ticks p{(a.value / shortest.value + 1) * shortest.value}; p < b; p = p + shortest)
    most = std::max(most, weightAt(p, meter, length));
  return most;
}

}  // namespace

Ticks feltBeat(Meter meter) {
  if (compound(meter)) return meter.beat() * 3;
  return meter.denominator >= 8 ? quarter : meter.beat();
}

std::vector<Ticks> beatStarts(Meter meter, Ticks length) {
  std::vector<Ticks> starts;
  if (!compound(meter) && meter.denominator >= 8 && meter.numerator % 2 == 1 && meter.numerator > 3) {
    // An odd meter of short beats: twos with one three, the three first in 5 (3+2) and last in 7 (2+2+3) and above.
    const int threeAt = meter.numerator == 5 ? 0 : (meter.numerator - 3);
    int at = 0;
    while (at < meter.numerator && meter.beat() * at < length) {
      starts.push_back(meter.beat() * at);
      at += at == threeAt ? 3 : 2;
    }
  } else {
    for (Ticks t{}; t < length; t = t + feltBeat(meter)) starts.push_back(t);
  }
  starts.push_back(length);
  return starts;
}

Ticks weightAt(Ticks place, Meter meter, Ticks length) {
  if (place == zero) return length;
  const Ticks beat = feltBeat(meter);
  const bool odd = !compound(meter) && meter.denominator >= 8 && meter.numerator % 2 == 1;
  if (odd) {
    const auto starts = beatStarts(meter, length);
    if (std::binary_search(starts.begin(), starts.end(), place)) return meter.beat() * 2;
  } else {
    const std::int64_t beats = meter.bar().value / beat.value;
    if (beats == 4 && place == beat * 2) return beat * 2;
    if (meter.numerator == 5 && place == beat * 3) return beat * 2;
    if (divides(beat, place)) return beat;
  }
  const Ticks first = compound(meter) || odd ? meter.beat() : Ticks{beat.value / 2};
  for (Ticks unit = first; unit > shortest; unit = {unit.value / 2})
    if (divides(unit, place)) return unit;
  return shortest;
}

std::optional<Value> noteValue(Ticks a, Ticks b, Meter meter, Ticks length) {
  const Ticks d = b - a;
  const auto value = valueOf(d);
  if (!value) return value;
  const Ticks base = Value{value->power, 0}.length();
  const Ticks beat = feltBeat(meter);
  const Ticks over = heaviest(a, b, meter, length);
  if (over == zero) return value;
  if (compound(meter)) {
    if (over >= beat) {  // over a beat: whole beats only
      const bool whole = divides(beat, a) && divides(beat, d);
      return whole && over <= d ? value : std::nullopt;
    }
    return divides({base.value / 2}, a) && over <= d ? value : std::nullopt;
  }
  if (over > d || !divides({base.value / 2}, a)) return std::nullopt;
  if (value->dots > 0 && !divides(base, a)) {
    // A dotted value off its own beat stays within one aligned pair (eighth, dotted quarter in half a bar of 4/4).
    const Ticks pair = base * 2;
    const Ticks from{a.value / pair.value * pair.value};
    const bool within = b <= from + pair;
    if (!within || (pair > beat && length.value % pair.value != 0)) return std::nullopt;
  }
  return value;
}

std::optional<Value> restValue(Ticks a, Ticks b, Meter meter, Ticks length) {
  const Ticks d = b - a;
  const auto value = valueOf(d);
  if (!value) return value;
  const Ticks beat = feltBeat(meter);
  if (compound(meter)) {
    const bool firstTwo = divides(beat, a) && d == meter.beat() * 2;
    if ((d == beat && divides(beat, a)) || firstTwo) return value;
    return value->dots == 0 && d <= meter.beat() && divides(d, a) ? value : std::nullopt;
  }
  if (value->dots > 0 || !divides(d, a)) return std::nullopt;
  const bool halfBar = meter.bar() == beat * 4 && d == beat * 2;  // in three there is no half rest
  return (d <= beat || halfBar) && heaviest(a, b, meter, length) < d ? value : std::nullopt;
}

Ticks cutOf(Ticks a, Ticks b, Meter meter, Ticks length) {
  const Ticks most = heaviest(a, b, meter, length);
  if (most == zero) return {(a.value / shortest.value + 1) * shortest.value};
  // Of places alike in weight: from a strong beginning the longest first piece, from a weak one the shortest.
  const bool strong = weightAt(a, meter, length) >= most;
  Ticks cut{};
  for (Ticks p{(a.value / shortest.value + 1) * shortest.value}; p < b; p = p + shortest) {
    if (weightAt(p, meter, length) != most) continue;
    cut = p;
    if (!strong) break;
  }
  return cut;
}

void beam(Voice& voice, Meter meter, Ticks length) {
  auto& events = voice.events;
  const auto starts = beatStarts(meter, length);
  std::vector<std::size_t> beatOf(events.size());
  for (std::size_t i = 0; i < events.size(); ++i) {
    const auto next = std::upper_bound(starts.begin(), starts.end(), events[i].at);
    beatOf[i] = static_cast<std::size_t>(next - starts.begin()) - 1;
    events[i].beam = -1;
  }
  const auto flagged = [&](std::size_t i) { return !events[i].rest() && events[i].value.flags() > 0; };
  // A beat of two plain eighths, nothing else.
  const auto pair = [&](std::size_t i) {
    return i + 1 < events.size() && flagged(i) && flagged(i + 1) && events[i].value == Value{3, 0} &&
           events[i + 1].value == Value{3, 0} && beatOf[i] == beatOf[i + 1] && events[i].tuplet < 0 &&
           events[i].at == starts[beatOf[i]];
  };
  const bool joins = !compound(meter) && meter.denominator == 4;
  const std::size_t together = meter.numerator == 4 ? 2 : meter.numerator <= 3 ? 3 : 1;
  std::int16_t number = 0;
  for (std::size_t i = 0; i < events.size();) {
    if (!flagged(i)) {
      ++i;
      continue;
    }
    std::size_t end = i + 1;
    const bool pairs = joins && pair(i);
    while (end < events.size() && flagged(end)) {
      const bool sameBeat = beatOf[end] == beatOf[i] && events[end].tuplet == events[i].tuplet;
      const bool nextPair = pairs && (end - i) % 2 == 0 && pair(end) && beatOf[end] / together == beatOf[i] / together;
      const bool secondOfPair = pairs && (end - i) % 2 == 1;
      if (!(pairs ? nextPair || secondOfPair : sameBeat)) break;
      ++end;
    }
    if (end - i > 1) {
      for (std::size_t k = i; k < end; ++k) events[k].beam = number;
      ++number;
    }
    i = end;
  }
}

}  // namespace seguente::page
