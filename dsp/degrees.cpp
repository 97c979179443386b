#include "dsp/degrees.h"

#include <array>
#include <initializer_list>

namespace seguente {

namespace {
/// The chord's tones as bits, semitones above the root.
std::uint32_t semitonesAbove(const Chord& chord) noexcept {
  std::uint32_t bits = 0;
  for (std::size_t i = 0; i < chord.count; ++i) bits |= std::uint32_t{1} << (chord.tones[i] & 31);
  return bits;
}

/// The chord's own tone, the first that it has of those wanted; -1 when it has none of them.
int own(std::uint32_t tones, std::initializer_list<int> wanted) noexcept {
  for (const int w : wanted)
    if (((tones >> w) & 1u) != 0) return w;
  return -1;
}

/// Number 2..7 within the octave, without alteration: what this chord has there, or the stated answer.
int withinOctave(std::uint32_t tones, int number) noexcept {
  switch (number) {
    case 2: {
      const int ninth = own(tones, {13, 14, 15});
      return ninth < 0 ? 2 : ninth - 12;
    }
    case 3: {
      const int third = own(tones, {4, 3, 5, 2});  // a suspended note stands where the third would
      return third < 0 ? 12 : third;               // bare fifth, single key: the octave, no third is added
    }
    case 4:
      return own(tones, {18}) == 18 ? 6 : 5;
    case 5: {
      const int fifth = own(tones, {7, 6, 8});
      return fifth < 0 ? 7 : fifth;
    }
    case 6:
      return own(tones, {8}) == 8 ? 8
                                  : 9;  // augmented: the fifth stays; else the major sixth, over a diminished one bb7
    default: {
      const int seventh = own(tones, {10, 11, 9});
      return seventh < 0 ? 12 : seventh;
    }
  }
}
}  // namespace

DegreeTable degreesOf(const Chord& chord) noexcept {
  DegreeTable table;
  const std::uint32_t tones = semitonesAbove(chord);
  for (std::size_t number = 2; number <= 7; ++number)
    table.semitones[number] = static_cast<std::int8_t>(withinOctave(tones, static_cast<int>(number)));
  for (std::size_t number = 8; number <= 15; ++number)
    table.semitones[number] = static_cast<std::int8_t>(table.semitones[number - 7] + 12);
  if (table.semitones[3] == 12) table.semitones[10] = 12;  // no third: the octave, not two of them
  table.bass = bassOf(chord);
  return table;
}

bool diminished(const Chord& chord) noexcept {
  constexpr std::uint32_t thirdAndFifth = 1u << 3 | 1u << 6;
  return (semitonesAbove(chord) & thirdAndFifth) == thirdAndFifth;
}

}  // namespace seguente
