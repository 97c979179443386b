// Tunes to be played by generated hands: the public-domain tunes of tests/reference/tunes (melody and chord symbols),
// and invented ones, so that a model cannot learn the few real ones by heart.
#pragma once

#include <string>
#include <vector>

#include "dsp/chord.h"
#include "dsp/time.h"
#include "tests/support/random.h"

namespace seguente::test {

/// Places and lengths in quarter notes from the tune's start. [any]
struct TuneNote {
  double at = 0, length = 0;
  int key = 60;
};
struct TuneChord {
  double at = 0, length = 0;
  Chord chord{};
};
struct Tune {
  std::string name;
  Meter meter{};
  double pickup = 0, bar = 4, length = 0;
  double quartersPerMinute = 100;
  std::vector<TuneNote> melody;
  std::vector<TuneChord> chords;
};

/// Which tunes and seeds may be learnt from, and which are kept apart to report on. [any]
enum class Half { learn, report };

/// Every second tune of tests/reference/tunes. [message] A missing file stops the program.
std::vector<Tune> realTunes(Half half);
/// Eight to sixteen bars over a likely progression, a melody of steps and leaps around its chords. [any]
Tune inventedTune(Random& random);
/// The same tune higher or lower. [any]
Tune transposed(const Tune& tune, int semitones);

}  // namespace seguente::test
