// Pitch as values with a meaning: a key on the keyboard, a pitch class, a spelt name, a loudness.
// C4 = 60 = middle C, A4 = 69 (REFERENCES: MIDI 1.0 note numbers; some texts call 60 C3).
#pragma once

#include <compare>
#include <cstdint>

namespace seguente {

/// A distance in semitones, up positive. [any]
struct Interval {
  int semitones = 0;
  friend constexpr auto operator<=>(Interval, Interval) = default;
};

/// One of twelve, C = 0. [any]
struct PitchClass {
  std::uint8_t value = 0;
  friend constexpr auto operator<=>(PitchClass, PitchClass) = default;
  static constexpr PitchClass of(int any) {
    const int rest = any % 12;
    return {static_cast<std::uint8_t>(rest < 0 ? rest + 12 : rest)};
  }
  friend constexpr PitchClass operator+(PitchClass p, Interval i) { return of(p.value + i.semitones); }
  /// Semitones up from `from` to `to`, 0..11.
  static constexpr int upFrom(PitchClass from, PitchClass to) {
    return static_cast<int>(static_cast<unsigned>(to.value + 12 - from.value) % 12);
  }
};

/// A MIDI key, 0..127, C4 = 60. [any]
struct NoteNumber {
  std::uint8_t value = 60;
  friend constexpr auto operator<=>(NoteNumber, NoteNumber) = default;
  constexpr PitchClass pitchClass() const { return {static_cast<std::uint8_t>(value % 12)}; }
  friend constexpr Interval operator-(NoteNumber a, NoteNumber b) { return {a.value - b.value}; }
};

/// How hard a key is struck, 1..127. 0 is not a velocity: in MIDI it is a note-off. [any]
struct Velocity {
  std::uint8_t value = 64;
  friend constexpr auto operator<=>(Velocity, Velocity) = default;
  static constexpr Velocity clamped(int v) { return {static_cast<std::uint8_t>(v < 1 ? 1 : v > 127 ? 127 : v)}; }
};

/// A spelt pitch without octave: step 0..6 = C D E F G A B, alteration in semitones (-2 double flat .. +2). [any]
struct SpelledPitch {
  std::int8_t step = 0;
  std::int8_t alteration = 0;
  friend constexpr auto operator<=>(SpelledPitch, SpelledPitch) = default;
  static constexpr int natural[7] = {0, 2, 4, 5, 7, 9, 11};
  constexpr PitchClass pitchClass() const { return PitchClass::of(natural[step] + alteration); }
};

/// A twelve-bit set of pitch classes, bit 0 = C. [any]
struct PitchClassSet {
  std::uint16_t bits = 0;
  friend constexpr bool operator==(PitchClassSet, PitchClassSet) = default;
  constexpr bool has(PitchClass p) const { return (bits >> p.value) & 1u; }
  constexpr void add(PitchClass p) { bits = static_cast<std::uint16_t>(bits | (1u << p.value)); }
  constexpr bool empty() const { return bits == 0; }
};

/// Which of the 128 keys are down, as two words, so that copying and walking it is cheap. [any]
struct KeySet {
  std::uint64_t words[2] = {0, 0};
  friend constexpr bool operator==(const KeySet&, const KeySet&) = default;
  constexpr bool has(NoteNumber n) const { return (words[n.value >> 6] >> (n.value & 63)) & 1u; }
  constexpr void add(NoteNumber n) { words[n.value >> 6] |= std::uint64_t{1} << (n.value & 63); }
  constexpr void remove(NoteNumber n) { words[n.value >> 6] &= ~(std::uint64_t{1} << (n.value & 63)); }
  constexpr bool empty() const { return (words[0] | words[1]) == 0; }
  constexpr int count() const { return bitsIn(words[0]) + bitsIn(words[1]); }
  /// The lowest key down; 128 when none is.
  constexpr int lowest() const {
    if (words[0] != 0) return __builtin_ctzll(words[0]);
    return words[1] != 0 ? 64 + __builtin_ctzll(words[1]) : 128;
  }
  /// The highest key down; -1 when none is.
  constexpr int highest() const {
    if (words[1] != 0) return 127 - __builtin_clzll(words[1]);
    return words[0] != 0 ? 63 - __builtin_clzll(words[0]) : -1;
  }
  constexpr KeySet without(const KeySet& o) const { return {{words[0] & ~o.words[0], words[1] & ~o.words[1]}}; }
  /// In place of the library's function, which is called for each word and reads a table.
  static constexpr int bitsIn(std::uint64_t word) {
    if (word == 0) return 0;
    word -= (word >> 1) & 0x5555555555555555u;
    word = (word & 0x3333333333333333u) + ((word >> 2) & 0x3333333333333333u);
    word = (word + (word >> 4)) & 0x0F0F0F0F0F0F0F0Fu;
    return static_cast<int>((word * 0x0101010101010101u) >> 56);
  }
  template <class Visit>
  constexpr void forEach(Visit&& visit) const {  // upwards
    for (int w = 0; w < 2; ++w)
      for (auto bits = words[w]; bits != 0; bits &= bits - 1)
        visit(NoteNumber{static_cast<std::uint8_t>(w * 64 + __builtin_ctzll(bits))});
  }
  constexpr PitchClassSet pitchClasses() const {
    PitchClassSet set;
    forEach([&](NoteNumber n) { set.add(n.pitchClass()); });
    return set;
  }
};

}  // namespace seguente
