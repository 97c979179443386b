// How two hands play a tune: the groups that are reported, and the draws within each. Rules of styles: common practice,
// no source, unless said; touch is measured (touch.h).
#pragma once

#include <string>
#include <vector>

#include "tests/performances/tunes.h"

namespace seguente::test {

/// free: two-hand pieces whose left hand is no accompaniment of held chords; its chords are not judged.
/// swapped: for some phrases the tune lies under the chords.
enum class Group { plain, dipping, close, wide, moving, inversions, pedal, slips, learner, rubato, free, swapped };
inline constexpr std::size_t groupCount = 12;
const char* groupName(Group group);

enum class LeftFigure {
  held,
  open,
  twoNotes,
  singleBass,
  octaves,
  repeated,
  broken,
  arpeggio,
  stride,
  line,
  after,
  counter,
  parallel
};
enum class RightTexture { line, thirds, sixths, octaves, chords, twoVoices, runs, inner, chorale };

/// One player's way through one tune. Keys in semitones, C4 = 60. [any]
struct Style {
  LeftFigure figure = LeftFigure::held;
  RightTexture texture = RightTexture::line;
  int tuneLow = 60;        // the tune is moved so that its lowest note is about here
  double leftCentre = 52;  // where the left hand likes to be
  int leftLowest = 38, gapToTune = 1;
  bool nearest = true;   // the next shape is where it is nearest; else root position
  bool hugging = false;  // as high as the tune allows
  int drift = 0;         // both hands move by up to this between phrases
  int rightVelocity = 76, leftVelocity = 64, velocitySpread = 6, tuneOverInner = 8;
  bool flat = false;       // every key as hard as any other
  bool grid = false;       // exactly as printed
  bool leftFirst = false;  // on the grid: in the cable before the tune
  bool pedal = false;
  double slips = 0;  // chance a note
  bool learner = false;
  double rubato = 0.02;   // share by which the tempo breathes
  double rolled = 0;      // chance that a chord is rolled
  double heldOver = 0.2;  // chance that a common tone is kept down
  double bassAlone = 0;   // chance that a held chord is its bass note alone, or two notes
  int introBars = 0;      // chords alone
  int leftEnters = 0;     // bars of the tune alone first; 1000: no left hand at all
  int rightEnters = 0;    // bars of the left hand alone, in place of the tune's; 1000: no tune
  double leftRests = 0;   // chance a bar without the left hand
  double rightRests = 0;
  double interleaved = 0;       // chance that a hand reaches into the other for a moment
  double detached = 0;          // chance a phrase that a hand plays short
  double restrike = 0.15;       // chance that a chord is struck again within its length
  double swapped = 0;           // chance a phrase, after the first, that the tune lies under the chords
  double changeEachPhrase = 0;  // chance that figure and texture change every four bars
};

/// A player of that group. wilder: with all that training material needs and a report group has not. [any]
Style styleOf(Group group, Random& random, bool wilder);
LeftFigure anyFigure(Random& random);
RightTexture anyTexture(Random& random);
RightTexture fullTexture(Random& random);  // more than one voice

}  // namespace seguente::test
