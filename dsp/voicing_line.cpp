// A counter-line's next note: every tone of the chord in its room is weighed.
#include <algorithm>
#include <cstdlib>

#include "dsp/voicing.h"

namespace seguente {

namespace {
constexpr int none = 128;

/// Both move, and a fifth or an octave follows the same interval.
bool parallel(int from, int to, int otherFrom, int otherTo) noexcept {
  if (from < 0 || otherFrom >= none || otherTo >= none || from == to || otherFrom == otherTo) return false;
  const int before = std::abs(from - otherFrom) % 12, now = std::abs(to - otherTo) % 12;
  return before == now && (now == 0 || now == 7);
}

/// How little a line wants to go from one key to another. By ear.
int unwillingness(int from, int to, int stays) noexcept {
  const int far = std::abs(to - from);
  if (far == 0) return 3 + 4 * stays;
  if (far <= 2) return 0;
  return far <= 4 ? 9 : 12 + 2 * far;
}
}  // namespace

int Voicing::lineKey(std::size_t part, const VoicedPart& voiced, const VoicingContext& c,
                     const LineContext& line) noexcept {
  PartMemory& m = memory_[part % limits::parts];
  const PitchClassSet tones = tonesOf(*c.chord);
  constexpr int roomOverBass = 3;
  const int lowest = line.bass < none ? std::max(voiced.in.low, line.bass + roomOverBass) : voiced.in.low;
  const int highest = std::min({voiced.in.high, line.ceiling, line.tune - 2});
  const int middle = (voiced.in.low + voiced.in.high) / 2;
  int best = none, bestCost = 0;
  for (int key = lowest; key <= highest; ++key) {
    if (!tones.has(PitchClass::of(key)) || line.barred.has(keyWithin(key))) continue;
    int cost = std::abs(key - middle) / 3;
    if (m.lastKey >= 0) {
      cost += unwillingness(m.lastKey, key, m.stays);
      const bool withBass = line.bass < none && m.lineBass < none && (key - m.lastKey) * (line.bass - m.lineBass) > 0;
      cost += withBass ? 1 : 0;
    }
    if (line.tune < none && PitchClass::of(line.tune) == PitchClass::of(key)) cost += 2;  // adds nothing to the tune
    if (best < none && cost >= bestCost) continue;
    if (line.noParallels &&
        (parallel(m.lastKey, key, line.bassBefore, line.bass) || parallel(m.lastKey, key, line.rootBefore, line.bass) ||
         parallel(m.lastKey, key, m.lineBass, line.bass) || parallel(m.lastKey, key, line.tuneBefore, line.tune) ||
         parallel(m.lastKey, key, m.lineTune, line.tune)))
      continue;
    best = key;
    bestCost = cost;
  }
  if (best == none) return none;
  m.stays = best == m.lastKey ? static_cast<std::uint8_t>(std::min(m.stays + 1, 9)) : std::uint8_t{0};
  m.lastKey = best;
  m.lineTune = line.tune;
  m.lineBass = line.bass;
  return best;
}

}  // namespace seguente
