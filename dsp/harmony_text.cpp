// Names as text: spelling in a key, chord symbols, numerals, and reading symbols and keys back.
// Source of the spelling rules: theory teaching as collected in REFERENCES section 2, "Spelling" and "Numerals".
#include <cstdlib>

#include "dsp/chord_types.h"
#include "dsp/harmony.h"

namespace seguente {
namespace {

/// The pitch class written on a staff step: C on B is B#. alteration -5..6; beyond 2 it is unreadable.
constexpr SpelledPitch onStep(PitchClass pitchClass, int step) {
  const SpelledPitch natural{static_cast<std::int8_t>(((step % 7) + 7) % 7), 0};
  const int up = PitchClass::upFrom(natural.pitchClass(), pitchClass);
  return {natural.step, static_cast<std::int8_t>(up > 6 ? up - 12 : up)};
}

// Steps of the twelve pitch classes when no key is known: flats for major (Db, Ab), sharps for minor and diminished
// (C#m, G#m), but Eb, F# and Bb always. Source: the fewest accidentals in the chord's own signature.
constexpr int stepOfMajor[12] = {0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6};
constexpr int stepOfMinor[12] = {0, 0, 1, 2, 2, 3, 3, 4, 4, 5, 6, 6};
constexpr SpelledPitch spelledAlone(PitchClass pitchClass, bool minor) {
  return onStep(pitchClass, (minor ? stepOfMinor : stepOfMajor)[pitchClass.value]);
}

// Semitones above the tonic to scale steps: bII bIII #IV bVI bVII; in minor the same steps give b3 b6 b7 as they are
// and 3 6 7 raised. A diminished chord leads up, so its root is the raised step below: #i, #ii, #iv, #v.
constexpr int stepInKey[12] = {0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6};
constexpr int stepInMajorLeading[12] = {0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 6, 6};

SpelledPitch spelledInKey(PitchClass pitchClass, const Key& key, const ChordType* type) noexcept {
  const bool minor = type != nullptr && type->minorThird();
  if (!key.known) return spelledAlone(pitchClass, minor);
  const int above = PitchClass::upFrom(key.tonic.pitchClass(), pitchClass);
  const bool leads = type != nullptr && type->diminishedFamily() && key.mode == Mode::major;
  const auto spelling = onStep(pitchClass, key.tonic.step + (leads ? stepInMajorLeading : stepInKey)[above]);
  return std::abs(spelling.alteration) > 1 ? spelledAlone(pitchClass, minor) : spelling;
}

// A tone that the type does not name, by its distance from the root: b9 9 b3 3 11 #11 5 b13 13 b7 7.
constexpr int stepAbove[12] = {0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6};

/// The spelling of a pitch class as a tone over the chord's root, by the type's own degree where it has one.
SpelledPitch spelledInChord(const Chord& chord, PitchClass pitchClass) noexcept {
  const int above = PitchClass::upFrom(chord.root, pitchClass);
  int step = stepAbove[above];
  if (chord.type.known()) {
    const auto& type = chordTypeOf(chord.type);
    for (std::size_t i = 0; i < type.count && type.has(above); ++i)
      if (type.semitones[i] == above || type.semitones[i] == above + 12) step = type.degrees[i].number - 1;
  }
  const auto spelling = onStep(pitchClass, chord.rootSpelling.step + step);
  return std::abs(spelling.alteration) > 2 ? spelledAlone(pitchClass, false) : spelling;
}

void append(ShortText& text, std::string_view more) noexcept {
  for (const char c : more)
    if (text.length < text.chars.size()) text.chars[text.length++] = c;
}

void appendAlteration(ShortText& text, int alteration) noexcept {
  for (int i = 0; i < std::abs(alteration); ++i) append(text, alteration > 0 ? "#" : "b");
}

void append(ShortText& text, SpelledPitch pitch) noexcept {
  append(text, std::string_view("CDEFGAB").substr(static_cast<std::size_t>(pitch.step), 1));
  appendAlteration(text, pitch.alteration);
}

/// Every held tone by name, for a group that has no chord name: "(C Db D)".
void appendTones(ShortText& text, const Chord& chord) noexcept {
  append(text, "(");
  for (std::size_t i = 0; i < chord.count; ++i) {
    if (i > 0) append(text, " ");
    append(text, spellTone(chord, i));
  }
  append(text, ")");
}

/// Semitones above a tonic of the degrees of its own scale (natural minor).
constexpr int majorDegrees[7] = {0, 2, 4, 5, 7, 9, 11};
constexpr int minorDegrees[7] = {0, 2, 3, 5, 7, 8, 10};

constexpr std::string_view upperNumerals[7] = {"I", "II", "III", "IV", "V", "VI", "VII"};
constexpr std::string_view lowerNumerals[7] = {"i", "ii", "iii", "iv", "v", "vi", "vii"};

/// The degree (0..6) whose dominant this chord is, when it is no chord of the key: A7 in C is V7 of ii. -1: none.
/// I7 and IV7 stay themselves (blues), and so does the major tonic or IV of a minor key (Picardy, dorian).
int appliedTo(const ChordType& type, int above, Mode mode) noexcept {
  const bool plain = type.mask == chordTypeOf(chordTypeIds::major).mask;
  if (!(plain || type.dominantSeventh())) return -1;
  if (mode == Mode::major) {
    switch (above) {
      case 2:
        return 4;  // D in C: V of V
      case 4:
        return 5;  // E: of vi
      case 9:
        return 1;  // A: of ii
      case 11:
        return 2;  // B: of iii
      default:
        return -1;
    }
  }
  if (above == 0 && !plain) return 3;  // A7 in A minor: V7 of iv
  if (above == 2) return 4;            // B: V of V
  if (above == 3 && !plain) return 5;  // C7: V7 of VI
  return -1;
}

/// Degrees that are minor triads in the key: an applied dominant names its target in the target's case.
constexpr bool minorTarget(int degree, Mode mode) {
  return mode == Mode::major ? degree == 1 || degree == 2 || degree == 5 : degree == 0 || degree == 3;
}

}  // namespace

void spell(Chord& chord, const Key& key) noexcept {
  const ChordType* type = chord.type.known() ? &chordTypeOf(chord.type) : nullptr;
  chord.rootSpelling = spelledInKey(chord.root, key, type);
  chord.bassSpelling = chord.rootSpelling;
  if (chord.bass == chord.root) return;
  const int above = PitchClass::upFrom(chord.root, chord.bass);
  const bool foreign = type != nullptr && !type->has(above);
  chord.bassSpelling =
      foreign && key.known ? spelledInKey(chord.bass, key, nullptr) : spelledInChord(chord, chord.bass);
}

SpelledPitch spellTone(const Chord& chord, std::size_t toneIndex) noexcept {
  if (toneIndex >= chord.count) return chord.rootSpelling;
  return spelledInChord(chord, chord.root + Interval{chord.tones[toneIndex]});
}

ShortText nameOf(SpelledPitch pitch) noexcept {
  ShortText text;
  append(text, pitch);
  return text;
}

ShortText symbolOf(const Chord& chord) noexcept {
  ShortText text;
  if (chord.none()) {
    append(text, "N.C.");
    return text;
  }
  if (!chord.type.known() && chord.count > 1) {
    appendTones(text, chord);
    return text;
  }
  append(text, chord.rootSpelling);
  if (chord.type.known()) append(text, chordTypeOf(chord.type).symbol());
  if (chord.bass != chord.root) {
    append(text, "/");
    append(text, chord.bassSpelling);
  }
  return text;
}

std::string_view qualityOf(const Chord& chord) noexcept {
  return chord.type.known() && !chord.none() ? chordTypeOf(chord.type).kind : std::string_view("none");
}

ShortText numeralOf(const Chord& chord, const Key& key) noexcept {
  ShortText text;
  if (!key.known || chord.none() || (!chord.type.known() && chord.count > 1)) return text;
  const bool minorKey = key.mode == Mode::minor;
  const int above = PitchClass::upFrom(key.tonic.pitchClass(), chord.root);
  const ChordType* type = chord.type.known() ? &chordTypeOf(chord.type) : nullptr;
  const bool lower = type != nullptr && type->minorThird();
  if (const int target = type != nullptr ? appliedTo(*type, above, key.mode) : -1; target >= 0) {
    append(text, "V");
    append(text, type->numeral);
    append(text, "/");
    append(text, (minorTarget(target, key.mode) ? lowerNumerals : upperNumerals)[target]);
    return text;
  }
  const int degree = (chord.rootSpelling.step + 7 - key.tonic.step) % 7;
  const int shift = above - (minorKey ? minorDegrees : majorDegrees)[degree];
  const int alteration = shift > 6 ? shift - 12 : shift < -6 ? shift + 12 : shift;
  const bool leadingTone = minorKey && degree == 6 && alteration == 1 && lower;  // viio stands on the raised 7
  if (!leadingTone) appendAlteration(text, alteration);
  append(text, (lower ? lowerNumerals : upperNumerals)[degree]);
  if (type != nullptr) append(text, type->numeral);
  return text;
}

ShortText nameOf(const Key& key) noexcept {
  ShortText text;
  if (!key.known) return text;
  append(text, key.tonic);
  append(text, key.mode == Mode::major ? " major" : " minor");
  return text;
}

}  // namespace seguente
