// Writes a stamped input stream as music is written: chords, tune and signals at places counted in quarter notes.
#pragma once

#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/input.h"
#include "dsp/time.h"

namespace seguente::test {

/// A place or length in quarter notes as ticks: quarters(1.5), quarters(1, 3). [any]
inline Ticks quarters(double n) { return {std::llround(n * static_cast<double>(quarter.value))}; }
inline Ticks quarters(std::int64_t numerator, std::int64_t denominator) {
  return {quarter.value * numerator / denominator};
}

/// "C4" = 60, "F#3", "Bb2". [any] A mistyped name stops the test.
NoteNumber key(std::string_view name);
std::vector<NoteNumber> keys(std::string_view names);  // "C3 E3 G3"
/// "Eb3". One spelling a key: C C# D Eb E F F# G Ab A Bb B.
std::string keyName(NoteNumber note);

/// The installed idiom of that id. A missing or faulty one stops the test with its faults. [message]
const Idiom& idiom(std::string_view id);
/// Every installed id. [message]
std::vector<std::string> idiomIds();

/// One stretch of steady time, as the score sent it. [any]
struct Stretch {
  Samples sample{};
  Ticks tick{};
  double quartersPerMinute = 120;
  Meter meter{};
  Ticks barStart{};
  bool playing = true;
  std::int64_t barsBefore = 0;  // bars counted until barStart
};

/// The stream in the making. Its own map from ticks to samples is the slow and obvious one: an oracle, not dsp/time.h.
class Score {
 public:
  Score(double rate, Meter meter, double quartersPerMinute = 120, Ticks barStart = {});

  Score& with(const Idiom& idiom, Ticks at = {});
  Score& with(const Settings& settings, Ticks at = {});
  Score& with(ChartRef chart, Ticks at = {});
  Score& signal(Gesture gesture, Ticks at);
  Score& silenceAt(Ticks at);
  Score& chord(std::string_view names, Ticks from, Ticks to, int velocity = 70, int channel = 0);
  Score& tune(std::string_view names, Ticks from, Ticks to, int velocity = 80, int channel = 0);
  Score& message(std::vector<std::uint8_t> bytes, Ticks at);
  Score& message(std::vector<std::uint8_t> bytes, Samples at);
  /// From here on another tempo or meter; the music goes on where it is.
  Score& tempo(double quartersPerMinute, Ticks at) { return tempoFrom(sampleOf(at), quartersPerMinute); }
  Score& meter(Meter meter, Ticks at) { return meterFrom(sampleOf(at), meter); }
  Score& tempoFrom(Samples at, double quartersPerMinute);
  Score& meterFrom(Samples at, Meter meter);
  Score& stop(Ticks at);
  /// After a stop, or while rolling: at this sample the place is `tick`.
  Score& jump(Samples at, Ticks tick, bool playing = true);
  Score& anchor(Samples at, const TimeAnchor& anchor);  // as it is, rubbish too

  /// Anything, as it is.
  Score& add(Samples at, Input input);

  /// Where the music is at a sample, in the stretch that runs there; while stopped it stays.
  Ticks tickAt(Samples sample) const;
  /// The sample of a place in the last stretch that has begun by then.
  Samples sampleOf(Ticks tick) const;
  Samples milliseconds(double n) const { return {std::llround(n * rate_ / 1000)}; }
  double rate() const { return rate_; }
  const std::vector<Stretch>& stretches() const { return stretches_; }
  /// The stream in order of sample; what was written first comes first.
  std::vector<Input> inputs() const;

 private:
  Stretch& next(Samples at, Ticks tick);
  double rate_;
  std::uint32_t generation_ = 0;
  std::vector<Stretch> stretches_;
  std::vector<Input> inputs_;
};

}  // namespace seguente::test
