#include "dsp/hand_context.h"

#include <algorithm>

namespace seguente {

namespace {

/// Major, or minor with both sevenths.
PitchClassSet scaleOf(const Key& key) noexcept {
  constexpr std::uint16_t major = 0b101010110101, minor = 0b110110101101;
  PitchClassSet set;
  const auto mask = key.mode == Mode::major ? major : minor;
  for (int i = 0; i < 12; ++i)
    if ((mask >> i & 1) != 0) set.add(key.tonic.pitchClass() + Interval{i});
  return set;
}

/// How far a place lies from the nearest multiple of a length, 128 = half of it.
int offFrom(Ticks place, Ticks length) noexcept {
  const auto quotient = floorDivide(place.value, length.value);
  const auto rest = place.value - quotient * length.value;
  const auto near = std::min(rest, length.value - rest);
  const int off = static_cast<int>(near * 256 / length.value);
  return rest * 2 < length.value ? off : -off;
}

}  // namespace

HandContext handContext(const Chord* inForce, const Key& key, const Foresight& foresight, const Clock& clock,
                        Samples at) noexcept {
  HandContext c;
  if (inForce != nullptr && !inForce->none()) {
    c.chord = tonesOf(*inForce);
    c.chordRoot = inForce->root.value;
  }
  if (key.known) c.scale = scaleOf(key);
  if (!clock.playing()) return c;
  const Ticks now = clock.tickAt(at);
  // A finger that comes a little early belongs to the chord ahead: a sixteenth of a quarter and more is usual.
  if (const Expected e = foresight.inChart(now + Ticks{quarter.value / 8}); e.chord != nullptr) {
    c.expected = tonesOf(*e.chord);
    c.expectedRoot = e.chord->root.value;
    const auto since = std::clamp<std::int64_t>((now - e.from).value, -quarter.value, quarter.value);
    c.sinceChange256 = static_cast<int>(since * 256 / quarter.value);
  }
  const Meter meter = clock.meter();
  const bool threes = compound(meter);
  const Ticks fromBar = now - clock.barAt(now);
  c.clock = true;
  c.offBeat256 = offFrom(fromBar, threes ? meter.beat() * 3 : meter.beat());
  const int offBar = offFrom(fromBar, meter.bar());
  c.offBar256 = std::min(128, (offBar < 0 ? -offBar : offBar) * meter.numerator / (threes ? 3 : 1));
  return c;
}

}  // namespace seguente
