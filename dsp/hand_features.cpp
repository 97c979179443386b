#include "dsp/hand_features.h"

#include <algorithm>
#include <bit>

#include "dsp/gather.h"

namespace seguente {

namespace {

constexpr std::int64_t nearTenths = 600;  // what lands together (REFERENCES section 6: 99 % of left-hand chords)
constexpr std::int64_t busyTenths = 5000;

/// Sixteenths of an octave of milliseconds, 0..239: 0 is one millisecond, 16 two.
constexpr int logTime(std::int64_t tenths) {
  const auto x = static_cast<std::uint32_t>(std::clamp<std::int64_t>(tenths / 10 + 1, 1, 30000));
  const int octave = 31 - std::countl_zero(x);
  return octave * 16 + static_cast<int>(((x << 4) >> octave) & 15u);
}

constexpr int fromLogTime(int l) { return ((16 + l % 16) << (l / 16)) >> 4; }

/// Nearness in pitch and in time, 64 at once, for the votes of earlier notes.
struct Nearness {
  std::array<std::array<std::uint8_t, 128>, 3> pitch{};
  std::array<std::array<std::uint8_t, 240>, 3> time{};
};
constexpr Nearness makeNearness() {
  constexpr int semitones[3] = {3, 4, 8};
  constexpr int milliseconds[3] = {300, 1500, 6000};
  Nearness n;
  for (std::size_t v = 0; v < 3; ++v) {
    for (int d = 0; d < 128; ++d)
      n.pitch[v][static_cast<std::size_t>(d)] =
          static_cast<std::uint8_t>(64 * semitones[v] * semitones[v] / (semitones[v] * semitones[v] + d * d));
    for (int l = 0; l < 240; ++l)
      n.time[v][static_cast<std::size_t>(l)] =
          static_cast<std::uint8_t>(64 * milliseconds[v] / (milliseconds[v] + fromLogTime(l)));
  }
  return n;
}
constexpr Nearness nearness = makeNearness();

constexpr auto octaves = [] {  // a division a note otherwise
  std::array<bool, 128> is{};
  for (std::size_t d = 0; d < 128; d += 12) is[d] = true;
  return is;
}();

/// The chance of the right hand in 64ths from its log odds in 64ths: a straight line with flat ends is near enough.
constexpr int chance64(int right) { return std::clamp(32 + right / 5, 1, 63); }

struct Strike {
  int count = 0, low = 128, high = -1, down = 0, gap = 24;
  bool sameKey = false, sameClass = false;
  std::int64_t last = 0;
};

struct Seen {  // of one hand
  int down = 0, downLow = 128, downHigh = -1;
  int near = 0, nearLow = 128, nearHigh = -1, nearGap = 24;
  std::array<Strike, 2> strikes{};
  int lastKey = -1, lastButOne = -1, lastVelocity = 0;
  bool lastDown = false;
  std::int64_t lastAge = 300000;
  int sameKey = 0, sameClass = 0, busy = 0;
};

struct Whole {  // of both hands
  int near = 0, nearBelow = 0, nearAbove = 0, gapBelow = 24, gapAbove = 24, nearVelocity = 0;
  int downBelow = 0, downAbove = 0, downGapBelow = 24, downGapAbove = 24, belowRight = 0, aboveRight = 0;
  PitchClassSet strike{};     // the chord hand's keys that landed with it
  KeySet together{};          // whoever's
  std::int64_t quiet = 1000;  // since any key landed
  int unjudged = 0, later = 0, laterBelow = 0, laterAbove = 0;
  int lastKey = -1, lastRight = 0, low = 128, high = -1, recent = 0;
  std::int64_t lastAge = 300000;
  std::array<int, 3> votesRight{}, votes{};
};

class Writer {
 public:
  explicit Writer(HandFeatures& out) : out_(out) {}
  void put(int value) noexcept {
    if (next_ < handFeatureCount) out_[next_++] = static_cast<std::int16_t>(std::clamp(value, -255, 255));
  }
  void flag(bool on) noexcept { put(on ? 64 : 0); }
  void semitones(int d, bool known = true) noexcept { put(known ? d * 5 : 0); }  // 13 semitones are 1
  void closely(int d, bool known = true) noexcept { put(known ? std::clamp(d * 16, -96, 96) : 0); }
  void time(std::int64_t tenths) noexcept { put(logTime(tenths) - 112); }
  void rest() noexcept {
    while (next_ < handFeatureCount) out_[next_++] = 0;
  }

 private:
  HandFeatures& out_;
  std::size_t next_ = 0;
};

void look(const HandMemory& memory, std::size_t place, Tenths now, std::array<Seen, 2>& seen, Whole& all) noexcept {
  const HeardNote& me = memory[place];
  for (std::size_t j = memory.count(); j-- > 0;) {
    if (j == place) continue;
    const HeardNote& n = memory[j];
    const int d = me.key - n.key;
    const int gap = d < 0 ? -d : d;
    const bool octave = octaves[static_cast<std::size_t>(gap)];
    const std::int64_t before = me.on - n.on;  // negative: it landed later
    const bool near = before <= nearTenths && before >= -nearTenths;
    all.quiet = std::min(all.quiet, now - n.on);
    if (near) {
      ++all.near;
      all.together.add({n.key});
      all.nearVelocity += n.velocity;
      if (d > 0) {
        ++all.nearBelow;
        all.gapBelow = std::min(all.gapBelow, d);
      } else {
        ++all.nearAbove;
        all.gapAbove = std::min(all.gapAbove, -d);
      }
      if (before < 0 || !n.judged) {
        ++all.later;
        (d > 0 ? all.laterBelow : all.laterAbove) += 1;
      }
    }
    if (!n.judged) {
      ++all.unjudged;
      continue;
    }
    const bool right = n.hand == Hand::melody;
    if (n.down) {
      if (d > 0) {
        ++all.downBelow;
        if (d < all.downGapBelow) {
          all.downGapBelow = d;
          all.belowRight = right ? 64 : -64;
        }
      } else {
        ++all.downAbove;
        if (-d < all.downGapAbove) {
          all.downGapAbove = -d;
          all.aboveRight = right ? 64 : -64;
        }
      }
    }
    const std::int64_t age = now - n.on;
    const auto l = static_cast<std::size_t>(logTime(age));
    const int chance = chance64(n.right);
    for (std::size_t v = 0; v < 3; ++v) {
      const int w = nearness.pitch[v][static_cast<std::size_t>(gap)] * nearness.time[v][l];
      all.votesRight[v] += w * chance;
      all.votes[v] += w * 64;
    }
    if (before >= 0) {
      if (all.lastKey < 0) {
        all.lastKey = n.key;
        all.lastRight = chance * 2 - 64;
        all.lastAge = before;
      }
      if (all.recent < 10) {
        ++all.recent;
        all.low = std::min<int>(all.low, n.key);
        all.high = std::max<int>(all.high, n.key);
      }
    }
    Seen& s = seen[static_cast<std::size_t>(n.hand)];
    if (n.down) {
      ++s.down;
      s.downLow = std::min<int>(s.downLow, n.key);
      s.downHigh = std::max<int>(s.downHigh, n.key);
    }
    if (before >= 0) {
      if (s.lastKey < 0) {
        s.lastKey = n.key;
        s.lastVelocity = n.velocity;
        s.lastDown = n.down;
        s.lastAge = before;
      } else if (s.lastButOne < 0) {
        s.lastButOne = n.key;
      }
    }
    if (d == 0) ++s.sameKey;
    if (octave) ++s.sameClass;
    if (before >= 0 && before < busyTenths) ++s.busy;
    if (near) {
      ++s.near;
      s.nearLow = std::min<int>(s.nearLow, n.key);
      s.nearHigh = std::max<int>(s.nearHigh, n.key);
      s.nearGap = std::min(s.nearGap, gap);
      if (!right) all.strike.add(NoteNumber{n.key}.pitchClass());
      continue;
    }
    if (before < 0) continue;
    for (Strike& strike : s.strikes) {
      if (strike.count > 0 && strike.last - n.on.value > strikeTenths) continue;
      if (strike.count == 0) strike.last = n.on.value;
      ++strike.count;
      strike.low = std::min<int>(strike.low, n.key);
      strike.high = std::max<int>(strike.high, n.key);
      strike.down += n.down ? 1 : 0;
      strike.gap = std::min(strike.gap, gap);
      strike.sameKey = strike.sameKey || d == 0;
      strike.sameClass = strike.sameClass || octave;
      break;
    }
  }
}

int spanWith(int key, int low, int high) noexcept { return std::max(key, high) - std::min(key, low); }

void writeHand(Writer& w, const HeardNote& me, Tenths now, const Seen& s, const HandHabit& habit) noexcept {
  const int k = me.key;
  const bool known = habit.notes > 0;
  w.put(std::min(habit.notes, 16) * 8 - 64);
  w.put(known ? (me.velocity * 256 - habit.velocity256) / 64 : 0);
  w.put(known ? (k * 256 - habit.centre256) * 5 / 256 : 0);
  w.put(known ? (k * 256 - habit.slowCentre256) * 5 / 256 : 0);
  w.put(s.down * 24);
  w.semitones(k - s.downHigh, s.down > 0);
  w.semitones(k - s.downLow, s.down > 0);
  w.semitones(spanWith(k, s.downLow, s.downHigh), s.down > 0);
  w.put(s.near * 24);
  w.semitones(k - s.nearHigh, s.near > 0);
  w.semitones(k - s.nearLow, s.near > 0);
  w.semitones(spanWith(k, s.nearLow, s.nearHigh), s.near > 0);
  w.closely(s.nearGap, s.near > 0);
  const Strike& a = s.strikes[0];
  const bool struck = a.count > 0;
  const std::int64_t age = struck ? now.value - a.last : 300000;
  w.put(a.count * 24);
  w.semitones(k - a.high, struck);
  w.semitones(k - a.low, struck);
  w.semitones(spanWith(k, a.low, a.high), struck);
  w.closely(a.gap, struck);
  w.put(struck ? a.down * 64 / a.count : 0);
  w.flag(a.sameKey);
  w.flag(a.sameClass);
  w.time(age);
  const int usual =
      habit.spacingTenths > 0 ? static_cast<int>(std::min<std::int64_t>(age, 160000) * 64 / habit.spacingTenths) : 128;
  w.put(std::min(usual, 192));
  w.time(habit.spacingTenths);
  w.put(habit.size256 / 8);
  const Strike& b = s.strikes[1];
  w.put(b.count * 24);
  w.semitones(k - b.high, b.count > 0);
  w.semitones(k - b.low, b.count > 0);
  w.flag(b.sameKey);
  w.semitones(a.low - b.low, b.count > 0);
  w.semitones(k - s.lastKey, s.lastKey >= 0);
  w.closely(k - s.lastKey, s.lastKey >= 0);
  w.semitones(k - s.lastButOne, s.lastButOne >= 0);
  w.time(s.lastAge);
  w.flag(s.lastDown);
  w.put(s.lastKey >= 0 ? (me.velocity - s.lastVelocity) * 4 : 0);
  w.put(s.sameKey * 16);
  w.put(s.sameClass * 10);
  w.put(s.busy * 12);
  w.time(now - habit.up);
}

void writeWhole(Writer& w, const HeardNote& me, const HandMemory& memory, const Whole& all) noexcept {
  const int k = me.key;
  const HandHabit& left = memory.habit(Hand::chord);
  const HandHabit& right = memory.habit(Hand::melody);
  const bool both = left.notes > 0 && right.notes > 0;
  w.semitones(k - 60);
  w.put(both ? (right.velocity256 - left.velocity256) / 64 : 0);
  w.put(both ? (right.slowCentre256 - left.slowCentre256) * 5 / 256 : 0);
  w.put(all.near * 16);
  w.put(all.nearBelow * 24);
  w.put(all.nearAbove * 24);
  w.semitones(all.gapBelow);
  w.semitones(all.gapAbove);
  w.put(all.near > 0 ? (me.velocity - all.nearVelocity / all.near) * 4 : 0);
  w.put(all.downBelow * 20);
  w.put(all.downAbove * 20);
  w.semitones(all.downGapBelow);
  w.semitones(all.downGapAbove);
  w.put(all.belowRight);
  w.put(all.aboveRight);
  w.put(all.unjudged * 24);
  for (std::size_t v = 0; v < 3; ++v) {
    w.put((2 * all.votesRight[v] - all.votes[v]) / (all.votes[v] / 64 + 1024));
    w.put(all.votes[v] / 8192 - 32);
  }
  w.semitones(k - all.lastKey, all.lastKey >= 0);
  w.put(all.lastRight);
  w.time(all.lastAge);
  w.semitones(k - all.low, all.recent > 0);
  w.semitones(k - all.high, all.recent > 0);
  PitchClassSet with = all.strike;  // what would the chord be with it
  with.add(NoteNumber{me.key}.pitchClass());
  w.flag(wholeChord(all.strike));
  w.flag(wholeChord(with));
  KeySet under = all.together;  // one hand plays the edge, the other a whole chord: which?
  under.add({me.key});
  KeySet over = under;
  under.remove({static_cast<std::uint8_t>(under.highest())});
  over.remove({static_cast<std::uint8_t>(over.lowest())});
  w.put((wholeChord(under.pitchClasses()) ? 64 : 0) - (wholeChord(over.pitchClasses()) ? 64 : 0));
}

void writeContext(Writer& w, const HeardNote& me, const HandMemory& memory, const HandContext& c) noexcept {
  const PitchClass pc{static_cast<std::uint8_t>(me.key % 12)};
  w.put(c.chord.empty() ? 0 : c.chord.has(pc) ? 64 : -64);
  w.flag(c.chordRoot == pc.value);
  w.put(c.scale.empty() ? 0 : c.scale.has(pc) ? 64 : -64);
  w.put(c.expected.empty() ? 0 : c.expected.has(pc) ? 64 : -64);
  w.flag(c.expectedRoot == pc.value);
  w.put(c.expected.empty() ? 0 : c.sinceChange256 / 4);
  w.flag(!c.expected.empty() && !(c.expected == c.chord));
  const int off = c.offBeat256 < 0 ? -c.offBeat256 : c.offBeat256;
  const int steady = 64 - memory.habit(Hand::chord).offBeat256;  // 64: the chord hand strikes on beats
  w.flag(c.clock);
  w.put(c.clock ? steady : 0);
  w.put(c.clock ? (64 - off) * std::max(steady, 0) / 64 : 0);
  w.put(c.clock ? (64 - c.offBar256) * std::max(steady, 0) / 64 : 0);
}

}  // namespace

void describe(const HandMemory& memory, std::size_t place, Tenths now, const HandContext& context, bool revising,
              bool closing, HandFeatures& out) noexcept {
  std::array<Seen, 2> seen{};
  Whole all;
  look(memory, place, now, seen, all);
  const HeardNote& me = memory[place];
  Writer w(out);
  writeHand(w, me, now, seen[static_cast<std::size_t>(Hand::melody)], memory.habit(Hand::melody));
  writeHand(w, me, now, seen[static_cast<std::size_t>(Hand::chord)], memory.habit(Hand::chord));
  writeWhole(w, me, memory, all);
  writeContext(w, me, memory, context);
  w.put(revising ? me.firstRight / 4 : 0);
  w.flag(closing);
  w.put(revising ? static_cast<int>(std::min<std::int64_t>(now - me.on, 1000)) / 8 : 0);
  w.put(revising ? all.laterBelow * 32 : 0);
  w.put(revising ? all.laterAbove * 32 : 0);
  w.flag(revising && !me.down);
  w.put(revising ? static_cast<int>(all.quiet) / 4 : 0);
  w.rest();
}

}  // namespace seguente
