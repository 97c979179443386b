// Degrees over every kind of chord, low-interval limits, smooth motion.
// Sources: REFERENCES section 4 (limits all lists share; smallest motion computed over all pairings, idea Tymoczko
// 2006) and DESIGN's stated answers for degrees that a chord lacks (common practice, no source).
#include <cstdlib>
#include <initializer_list>
#include <string_view>

#include "dsp/degrees.h"
#include "dsp/harmony.h"
#include "dsp/voicing.h"
#include "tests/catch.h"

using namespace seguente;

namespace {
Chord chordOf(std::string_view symbol) {
  auto chord = parseSymbol(symbol);
  REQUIRE(chord.has_value());
  return *chord;
}

KeySet set(std::initializer_list<int> keys) {
  KeySet s;
  for (const int k : keys) s.add({static_cast<std::uint8_t>(k)});
  return s;
}

Part chordsPart(int low = 52, int high = 72) {
  Part part;
  part.kind = PartKind::chords;
  part.low = {static_cast<std::uint8_t>(low)};
  part.high = {static_cast<std::uint8_t>(high)};
  return part;
}

Step upperStep() {
  Step step;
  step.play.kind = PlayKind::upper;
  return step;
}
}  // namespace

TEST_CASE("the sixth of a rocking bass is the major sixth over major, minor and dominant", "[voicing]") {
  for (const auto* symbol : {"C", "Am", "G7", "Dm7", "Fmaj7"}) CHECK(semitonesOf(chordOf(symbol), {6, 0}) == 9);
}

TEST_CASE("over a diminished chord the rocking bass has b5 then bb7, over an augmented one the fifth stays",
          "[voicing]") {
  CHECK(semitonesOf(chordOf("Bdim"), {5, 0}) == 6);
  CHECK(semitonesOf(chordOf("Bdim"), {6, 0}) == 9);
  CHECK(semitonesOf(chordOf("Caug"), {5, 0}) == 8);
  CHECK(semitonesOf(chordOf("Caug"), {6, 0}) == 8);
}

TEST_CASE("over a bare fifth and over a single key no third is added", "[voicing]") {
  CHECK(semitonesOf(chordOf("C5"), {3, 0}) == 12);
  const Chord single = nameChord(set({48}), {}).best();
  CHECK(single.root == PitchClass{0});
  CHECK(semitonesOf(single, {3, 0}) == 12);
}

TEST_CASE("a suspended note stands where the third would", "[voicing]") {
  CHECK(semitonesOf(chordOf("Csus4"), {3, 0}) == 5);
  CHECK(semitonesOf(chordOf("Csus2"), {3, 0}) == 2);
}

TEST_CASE("eight, ten and twelve lie an octave above root, third and fifth", "[voicing]") {
  const Chord am = chordOf("Am");
  CHECK(semitonesOf(am, {8, 0}) == 12);
  CHECK(semitonesOf(am, {10, 0}) == 15);
  CHECK(semitonesOf(am, {12, 0}) == 19);
  CHECK(semitonesOf(chordOf("C"), {3, -1}) == 3);
}

TEST_CASE(
    "no list of low-interval limits allows a second below Eb3, a minor third below C3, a major one below A2, a fifth "
    "below A1",
    "[voicing]") {
  const auto clear = [](int low, int semitones) {
    return clearEnough({static_cast<std::uint8_t>(low)}, {static_cast<std::uint8_t>(low + semitones)});
  };
  for (int low = 24; low < 80; ++low) {
    CHECK(clear(low, 2) == (low >= 51));
    CHECK(clear(low, 3) == (low >= 48));
    CHECK(clear(low, 4) == (low >= 45));
    CHECK(clear(low, 7) == (low >= 33));
    CHECK(clear(low, 12));
  }
}

TEST_CASE("a chord held without its fifth keeps to what the hand holds above the bass", "[voicing]") {
  const KeySet hand = set({47, 53, 55});  // B F G
  const Chord g7 = nameChord(hand, {}).best();
  Voicing voicing;
  VoicingContext context;
  context.chord = &g7;
  context.hand = hand;
  const auto keys = voicing.voice(upperStep(), chordsPart(), context);
  REQUIRE(keys.count == 2);
  KeySet sounding;
  for (std::size_t i = 0; i < keys.count; ++i) sounding.add(keys.keys[i]);
  CHECK(sounding.pitchClasses() == set({47, 53}).pitchClasses());
}

TEST_CASE("upper voices move by the smallest total motion from chord to chord and back", "[voicing]") {
  // Upper tones of the sevenths, one to one: Dm7 (F A C) to G7 (B D F) and G7 to Cmaj7 (E G B), over all pairings.
  // Oracle: the slow and obvious one, every octave of every tone within a fifth of where it was.
  const auto check = [](std::string_view first, std::string_view second) {
    Voicing voicing;
    const Chord a = chordOf(first);
    const Chord b = chordOf(second);
    VoicingContext context;
    context.chord = &a;
    const auto before = voicing.voice(upperStep(), chordsPart(50, 76), context);
    voicing.chordChanged();
    context.chord = &b;
    const auto after = voicing.voice(upperStep(), chordsPart(50, 76), context);
    REQUIRE(before.count == 3);
    REQUIRE(after.count == 3);
    int moved = 0;
    for (std::size_t i = 0; i < 3; ++i)
      moved += std::abs(after.keys[i] - before.keys[i] == Interval{0} ? 0 : (after.keys[i] - before.keys[i]).semitones);
    int least = 1000;
    for (int p = 0; p < 6; ++p) {
      constexpr int orders[6][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
      int sum = 0;
      for (std::size_t i = 0; i < 3; ++i) {
        const int target = after.keys[static_cast<std::size_t>(orders[p][i])].value % 12;
        const int up = (target - before.keys[i].value % 12 + 12) % 12;
        sum += std::min(up, 12 - up);
      }
      least = std::min(least, sum);
    }
    INFO(first << " to " << second);
    CHECK(moved == least);
  };
  check("Dm7", "G7");
  check("G7", "Cmaj7");
  check("C7", "F7");
  check("Cmaj7", "Am7");
  check("Db7", "G7");
}

TEST_CASE("in lean density nothing lies further above our lowest sounding key than the hand spans", "[voicing]") {
  for (int root = 0; root < 12; ++root) {
    const KeySet hand = set({48 + root, 52 + root, 55 + root});
    const Chord chord = nameChord(hand, {}).best();
    Voicing voicing;
    VoicingContext context;
    context.chord = &chord;
    context.hand = hand;
    context.lowestSounding = 43;
    context.spanLimit = 12;
    const auto keys = voicing.voice(upperStep(), chordsPart(45, 60), context);
    for (std::size_t i = 0; i < keys.count; ++i) CHECK(keys.keys[i].value - 43 <= 12);
  }
}

TEST_CASE("as held, the very keys of the hand are moved by whole octaves", "[voicing]") {
  const KeySet hand = set({52, 55, 60});
  const Chord chord = nameChord(hand, {}).best();
  VoicingContext context;
  context.chord = &chord;
  context.hand = hand;
  Step step;
  step.play.kind = PlayKind::heldUpper;
  Voicing voicing;
  const auto keys = voicing.voice(step, chordsPart(36, 55), context);
  REQUIRE(keys.count == 2);
  CHECK((keys.keys[1] - keys.keys[0]) == Interval{5});
  CHECK(keys.keys[0].pitchClass() == PitchClass{7});
}
