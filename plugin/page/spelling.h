// Names on paper: signatures, the spelling of a key of the keyboard, and which notes need a sign in a bar.
// Rule: a chord's own tones by their degrees, else the key's own, else by where the line leads, else the line of
// fifths round the key.
#pragma once

#include <map>

#include "dsp/chord.h"
#include "plugin/page/score.h"

namespace seguente::page {

/// Where a key stands on paper: steps from middle C, and what its name alters. [any]
struct Place {
  int step = 0;
  std::int8_t alteration = 0;
  friend constexpr bool operator==(Place, Place) = default;
};

/// Sharps (positive) or flats of a key's signature, -7..7; 0 when unknown. [any]
int signatureOf(const Key& key);
/// What a signature does to a line or space: 1, 0 or -1. [any]
int signatureAlteration(const Key& key, int step);
/// A key by its signature's sharps (positive) or flats, -7..7. [any]
Key keyOfSignature(int sharps, bool minor);

/// Under a given name. [any]
Place placeAs(NoteNumber note, SpelledPitch name);
/// By the key alone: twelve neighbours on the line of fifths. [any]
Place placeOf(NoteNumber note, const Key& key);
/// In its place: chord may be null; next is the note that the line goes to, or the note itself when none is known.
/// [any]
Place placeOf(NoteNumber note, const Key& key, const Chord* chord, NoteNumber next);

/// The signs of one bar on one staff, in order of time: a sign counts until the bar line for its own line or space.
/// A note tied in from the bar before needs none, and is no sign for the notes after it. [any]
class BarSigns {
 public:
  explicit BarSigns(const Key& key) : key_(key) {}
  void mark(Note& note, bool fromBarBefore);

 private:
  Key key_;
  std::map<int, int> seen_;
};

}  // namespace seguente::page
