// People at a keyboard, from a seed: public-domain tunes played with rubato, fermatas, a learner's hesitations, and a
// player who hears the accompaniment and follows it. The true beats are kept beside; they never reach the engine.
#pragma once

#include <string>
#include <vector>

#include "dsp/input.h"
#include "tests/support/random.h"

namespace seguente::test {

/// A tune in quarter notes from its first note, as tests/reference/tunes/tunes.json has it. [any]
struct Tune {
  struct Note {
    double at = 0, length = 0;
    std::vector<int> keys;
  };
  std::string title;
  Meter meter{};
  double quartersPerMinute = 100;
  double pickup = 0;
  double bar = 4;
  double total = 0;
  std::vector<Note> melody;
  std::vector<Note> chords;
};
/// A missing file stops the test. [message]
std::vector<Tune> readTunes();

/// How somebody plays. [any]
struct Manner {
  double depth = 0.08;  // the tempo stays within this share of its mean
  double tempo = 1;     // times the tune's own
  int repeats = 1;
  bool fermatas = false;
  bool learner = false;         // searches, corrects, begins the bar again
  bool chordsHeldOver = false;  // a chord that is repeated is held instead, so that many downbeats have none
};

/// What was played. Seconds from the start. The melody is on channel 1, the chords on channel 2. [any]
struct Played {
  std::vector<Input> inputs;  // in order; stamped for `rate`
  std::vector<double> beats;  // the meter's, from the first chord on
  std::vector<char> downbeat;
  std::vector<double> returns;  // downbeats after a fermata or a search
  Meter meter{};
  double end = 0;
};

inline constexpr double performerRate = 48000;

/// Touch after REFERENCES section 6: fingers of a chord 16 ms apart in the median (41 in 95 of 100), melody 22 ms
/// before the left hand, each stroke off by some 8 ms.
Played play(const Tune& tune, const Manner& manner, std::uint64_t seed);

/// The settings under which these performances are heard: hands by channel, the meter given or to be guessed.
Settings followingSettings(Meter meter, bool guess);

/// A player who hears our notes and follows them, with the engine, for `seconds`. [any]
struct Together {
  double share = 0.5;    // of the asynchrony that he corrects at each beat
  double adopts = 0.5;   // of the difference to the period that he hears
  double lag = 0.05;     // seconds behind what he hears
  double period = 0.55;  // of the beat, at the start
  double seconds = 300;
  Meter meter{3, 4};
};
struct TogetherResult {
  std::vector<double> beats;  // when he played them
  double startPeriod = 0;     // as he set out
  double earlyPeriod = 0;     // over thirty beats, once both play: from the fifth bar on
  double endPeriod = 0;       // over the last thirty beats
  double farthest = 0;        // of the mean period over 16 beats from the start's, as a share
  double asynchrony = 0;      // our notes against his, mean of the absolute, seconds
};
TogetherResult playTogether(const Together& player, std::uint64_t seed);

double normal(Random& random);
double uniform(Random& random, double low, double high);

}  // namespace seguente::test
