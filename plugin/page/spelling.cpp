#include "plugin/page/spelling.h"

#include <array>

#include "dsp/degrees.h"
#include "dsp/harmony.h"

namespace seguente::page {

namespace {

// The letters of the line of fifths, F first; F itself is place -1 (C = 0).
constexpr std::array<std::int8_t, 7> letterByFifth{3, 0, 4, 1, 5, 2, 6};
constexpr std::array<int, 7> natural{0, 2, 4, 5, 7, 9, 11};

int fifthOf(SpelledPitch p) {
  constexpr std::array<int, 7> fifths{0, 2, 4, -1, 1, 3, 5};
  return fifths[static_cast<std::size_t>(p.step)] + 7 * p.alteration;
}

/// The name at a place of the line of fifths, F = 0, C = 1.
SpelledPitch nameAt(int fromF) {
  return {letterByFifth[static_cast<std::size_t>(((fromF % 7) + 7) % 7)],
          static_cast<std::int8_t>(floorDivide(fromF, 7))};
}

int alterationBySignature(int signature, int letter) {
  for (int i = 0; i < 7; ++i) {
    if (letterByFifth[static_cast<std::size_t>(i)] != letter) continue;
    if (signature > i) return 1;
    return -signature > 6 - i ? -1 : 0;
  }
  return 0;
}

int letterOf(int step) { return static_cast<int>(((step % 7) + 7) % 7); }

/// A neighbour of the note it leads to, on the next line or space: below it raised, above it lowered.
Place leadingTo(NoteNumber note, Place goal, bool up) {
  Place place;
  place.step = goal.step + (up ? -1 : 1);
  const auto letter = static_cast<std::size_t>(letterOf(place.step));
  const auto octave = static_cast<int>(floorDivide(place.step, 7));
  place.alteration = static_cast<std::int8_t>(note.value - (60 + 12 * octave + natural[letter]));
  return place;
}

}  // namespace

int signatureOf(const Key& key) {
  if (!key.known) return 0;
  const int signature = fifthOf(key.tonic) - (key.mode == Mode::minor ? 3 : 0);
  return signature < -7 || signature > 7 ? 0 : signature;
}

int signatureAlteration(const Key& key, int step) { return alterationBySignature(signatureOf(key), letterOf(step)); }

Key keyOfSignature(int sharps, bool minor) {
  Key key;
  key.known = true;
  key.mode = minor ? Mode::minor : Mode::major;
  key.tonic = nameAt(sharps + 1 + (minor ? 3 : 0));
  return key;
}

Place placeAs(NoteNumber note, SpelledPitch name) {
  const int octave = (note.value - name.alteration - natural[static_cast<std::size_t>(name.step)] - 60) / 12;
  return {name.step + 7 * octave, name.alteration};
}

Place placeOf(NoteNumber note, const Key& key) {
  const int signature = signatureOf(key);
  // In major from the flat sixth to the raised first, in minor one fifth sharper for the raised seventh: common
  // practice of notation, from memory.
  const int lowest = signature + (key.known && key.mode == Mode::minor ? -3 : -4);
  const int pitchClass = note.value % 12;
  int fifth = lowest;
  while (((fifth * 7) % 12 + 12) % 12 != pitchClass) ++fifth;
  return placeAs(note, nameAt(fifth + 1));
}

Place placeOf(NoteNumber note, const Key& key, const Chord* chord, NoteNumber next) {
  if (chord != nullptr && chord->type.known())
    for (std::size_t i = 0; i < chord->count; ++i)
      if (const SpelledPitch tone = spellTone(*chord, i); tone.pitchClass() == note.pitchClass())
        return placeAs(note, tone);
  const Place plain = placeOf(note, key);
  if (plain.alteration == signatureAlteration(key, plain.step)) return plain;
  // A chromatic note is raised on its way up and lowered on its way down (notation textbooks, from memory); the raised
  // sixth and seventh of a minor key keep their names both ways.
  if (key.known && key.mode == Mode::minor && plain.alteration > signatureAlteration(key, plain.step)) return plain;
  const int way = next.value - note.value;
  if (way != 1 && way != -1) return plain;
  const Place lead = leadingTo(note, placeOf(next, key), way == 1);
  return lead.alteration >= -1 && lead.alteration <= 1 ? lead : plain;
}

void BarSigns::mark(Note& note, bool fromBarBefore) {
  note.sign = false;
  if (fromBarBefore) return;
  const auto seen = seen_.find(note.step);
  const int stands = seen != seen_.end() ? seen->second : signatureAlteration(key_, note.step);
  note.sign = note.alteration != stands;
  seen_[note.step] = note.alteration;
}

}  // namespace seguente::page
