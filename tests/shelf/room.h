// Room for the tune: an idiom accompanies one of the reference tunes, and what a singer would ask of it.
#pragma once

#include "tests/performances/tunes.h"
#include "tests/shelf/course.h"

namespace seguente::test {

/// `first` says where the first fault of each kind lies. [any]
struct Room {
  Share over;     // strokes: none over a note that the tune holds, within an octave
  Share doubled;  // strokes: none on a key that the tune holds
  Share under;    // notes of the tune: none of ours, but for our lowest, sounds on in its place or over it
  Share clash;    // ours and the tune's together for a beat: no semitone or minor ninth that the chord has not
  Share root;     // chords: the bass's first stroke is the root, or the note that the hand set under it
  Share third;    // chords that last a bar or more and have a third: it is struck within a bar
  std::string contract;
  std::array<std::string, 6> first;
  void add(const Room& other);
};

/// [message] The tune's chords are held in close position by the left hand, its melody is played by the right.
Room accompany(const std::string& id, Density density, const Tune& tune, std::uint64_t seed);

/// Keys of a close position of a chord, in some inversion: "E3 G3 C4". [any]
std::string shapeOf(const Chord& chord, std::uint64_t turn);

/// All tunes of tests/reference/tunes. [message]
std::vector<Tune> referenceTunes();

}  // namespace seguente::test
