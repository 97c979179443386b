// A player who hears the accompaniment and follows it, beat by beat, with the engine in the loop.
#include <algorithm>
#include <cmath>

#include "dsp/engine.h"
#include "tests/follow/performer.h"
#include "tests/support/score.h"

namespace seguente::test {

namespace {

struct Heard {
  std::vector<double> strikes;
  static void midi(void* context, const Output& o) {
    // What he has set off himself tells him nothing of where we are.
    if (o.kind == OutputKind::noteOn && o.reason != nullptr && o.reason->cause == DelayCause::none)
      static_cast<Heard*>(context)->strikes.push_back(static_cast<double>(o.sample.value) / performerRate);
  }
};

Input message(int status, int key, int value, double at) {
  MidiMessage m;
  m.bytes = {static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(key), static_cast<std::uint8_t>(value)};
  m.length = 3;
  return Input::of(Samples{std::llround(at * performerRate)}, m);
}

}  // namespace

TogetherResult playTogether(const Together& player, std::uint64_t seed) {
  Random random(seed);
  Engine engine;
  engine.prepare(performerRate);
  Heard heard;
  const Sink sink{&heard, Heard::midi, nullptr};
  std::vector<Input> waiting = {Input::of(Samples{}, followingSettings(player.meter, false)),
                                Input::of(Samples{}, IdiomRef{&idiom("waltz"), 1})};
  const auto runTo = [&](double seconds) {
    const Samples until{std::llround(seconds * performerRate)};
    std::stable_sort(waiting.begin(), waiting.end(),
                     [](const Input& a, const Input& b) { return a.sample < b.sample; });
    std::size_t n = 0;
    while (n < waiting.size() && waiting[n].sample < until) ++n;
    engine.process(std::span(waiting).first(n), until, sink);
    waiting.erase(waiting.begin(), waiting.begin() + static_cast<std::ptrdiff_t>(n));
  };
  const int perBar = player.meter.numerator;
  const std::vector<std::vector<int>> chords = {{48, 52, 55}, {48, 53, 57}, {47, 53, 55}, {48, 52, 55}};
  const std::vector<int> tune = {72, 76, 79, 77, 74, 71};
  TogetherResult result;
  double planned = 0.3, period = player.period, lastHeard = -1, asynchrony = 0;
  std::size_t next = 0;
  int together = 0;
  for (int beat = 0; planned < player.seconds; ++beat) {
    const double struck = planned + 0.012 * normal(random);
    result.beats.push_back(planned);
    const int key = tune[static_cast<std::size_t>(beat % 6)];
    waiting.push_back(message(0x90, key, 80, struck - 0.011 + 0.01 * normal(random)));
    waiting.push_back(message(0x80, key, 64, struck + 0.7 * period));
    if (beat % perBar == 0) {
      const auto& chord = chords[static_cast<std::size_t>(beat / perBar) % chords.size()];
      const double spread = 0.016 * std::exp(0.57 * normal(random));
      for (std::size_t i = 0; i < chord.size(); ++i) {
        const double finger = struck + 0.011 + spread * static_cast<double>(i) / 2;
        waiting.push_back(message(0x91, chord[i], 64, finger));
        waiting.push_back(message(0x81, chord[i], 64, finger + (perBar - 0.4) * period));
      }
    }
    const double listenFrom = planned - 0.25 * period;  // what is farther off is another part of the beat
    runTo(planned + 0.5 * period);
    double sounded = -1;
    for (; next < heard.strikes.size(); ++next)
      if (heard.strikes[next] >= listenFrom && heard.strikes[next] <= planned + 0.25 * period &&
          (sounded < 0 || std::abs(heard.strikes[next] - planned) < std::abs(sounded - planned)))
        sounded = heard.strikes[next];
    double wanted = planned;
    if (sounded >= 0 && beat >= 2 * perBar) {
      wanted += player.share * (sounded + player.lag - planned);
      if (lastHeard >= 0)
        period += player.adopts * (std::clamp(sounded - lastHeard, 0.6 * period, 1.6 * period) - period);
      asynchrony += std::abs(sounded - struck);
      ++together;
    }
    lastHeard = sounded;
    planned = wanted + period;
  }
  const auto mean = [&](std::size_t from, std::size_t count) {
    return (result.beats[from + count] - result.beats[from]) / static_cast<double>(count);
  };
  result.startPeriod = player.period;
  result.earlyPeriod = mean(static_cast<std::size_t>(4 * perBar), 30);
  result.endPeriod = mean(result.beats.size() - 31, 30);
  for (std::size_t i = static_cast<std::size_t>(2 * perBar); i + 17 < result.beats.size(); ++i)
    result.farthest = std::max(result.farthest, std::abs(mean(i, 16) / player.period - 1));
  result.asynchrony = together > 0 ? asynchrony / together : 1;
  return result;
}

}  // namespace seguente::test
