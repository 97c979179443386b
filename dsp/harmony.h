// Names chords and finds the key. All readings are kept, ranked; the choice is helped by bass and key.
// Chord types and their sources: dsp/chord_types.h. Key profiles and their sources: dsp/key_finder.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "dsp/chord.h"
#include "dsp/limits.h"
#include "dsp/time.h"

namespace seguente {

/// One way to hear the held keys. score: higher is likelier, comparable within one Readings only. [any]
struct Reading {
  Chord chord;
  int score = 0;
  bool complete = false;  // every tone of the type is held (an omitted fifth makes it false)
};

/// All readings found, best first; count 0 when no key is held. [any]
struct Readings {
  std::size_t count = 0;
  std::array<Reading, limits::readings> ranked{};
  const Chord& best() const { return ranked[0].chord; }
};

/// Names what a hand holds. One key is a root without a third (type unknown, count 1, tone 0); two a fifth apart are
/// a bare fifth (power); B-F-G is G7 without its fifth. `key` may be unknown. `expected` (from a chart) breaks ties.
/// [audio] noexcept, no allocation, bounded (about 12 roots x 42 types). errors: none.
Readings nameChord(const KeySet& held, const Key& key, const Chord* expected = nullptr) noexcept;

/// The root's and bass's spelling of a chord in a key, by REFERENCES section 2 "Spelling". [audio]
void spell(Chord& chord, const Key& key) noexcept;

/// The spelling of a chord's tone (semitones above the root, by its degree), e.g. the third of Cm = Eb. [any]
SpelledPitch spellTone(const Chord& chord, std::size_t toneIndex) noexcept;

/// A short text without allocation. [any]
struct ShortText {
  std::array<char, 24> chars{};
  std::uint8_t length = 0;
  constexpr std::string_view view() const { return {chars.data(), length}; }
};

ShortText nameOf(SpelledPitch pitch) noexcept;            // "F#", "Bb", "Bbb"  [any]
ShortText symbolOf(const Chord& chord) noexcept;          // "F#m7b5/C", "C5", one key: "C"  [any]
std::string_view qualityOf(const Chord& chord) noexcept;  // MusicXML kind value: "dominant"; "none" when unknown [any]
ShortText numeralOf(const Chord& chord,
                    const Key& key) noexcept;  // "V7", "ii", "bVII", "V7/ii", "" if key unknown [any]
ShortText nameOf(const Key& key) noexcept;     // "F# minor"; "" when unknown [any]

/// Reads a chord symbol as lead sheets write it ("F#m7b5/C", "Bbmaj7", "G7"). [message]
/// errors: nullopt when the text is no chord symbol. "N.C." gives a chord with none() true.
std::optional<Chord> parseSymbol(std::string_view text);

/// Reads a key: "Bb", "F# minor", "Am", "c minor". [message] errors: nullopt.
std::optional<Key> parseKey(std::string_view text);

/// Finds the key as it goes, from chords and melody together. Weighted pitch-class histogram with slow forgetting,
/// correlated with a published profile (see key_finder.cpp); changes its mind only by a margin (hysteresis).
/// A dorian or blues tune is given as minor or major: there are 24 keys.
/// Not thread safe: owned by one engine. [audio] after construction; no allocation.
class KeyFinder {
 public:
  /// Forgets what was heard; a fixed key stays.
  void reset() noexcept;
  /// Fix the key (--key); an unknown key returns to finding it.
  void fix(const Key& key) noexcept;
  /// A melody note ended after sounding for this long. errors: a negative time counts as none.
  void hear(PitchClass pitchClass, Ticks sounded) noexcept;
  /// A chord was struck: its tones count, its root a little more; cadences (V-I) speak for a key.
  void hearChord(const Chord& chord, Ticks sounded) noexcept;
  /// The best key now. Costly (24 correlations): called once a chord change.
  const Key& update() noexcept;
  const Key& key() const noexcept { return key_; }
  /// How well each key fits, -1..1 (Pearson), cadences left out: 12 major keys from C, then 12 minor; all 0 when
  /// nothing, or everything equally, was heard.
  std::array<float, 24> correlations() const noexcept;

 private:
  void fade(float quarters) noexcept;

  std::array<float, 12> weights_{};   // by pitch class, in quarters
  std::array<float, 24> cadences_{};  // by key, V-I steps heard
  float total_ = 0;                   // quarters of sound
  Key key_{};
  bool fixed_ = false;
  Chord last_{};
};

}  // namespace seguente
