#include "tests/follow/judge.h"

#include <algorithm>
#include <cmath>

#include "dsp/engine.h"
#include "tests/support/score.h"

namespace seguente::test {

std::vector<ToldBeat> followed(const Played& played, const Settings& settings, const char* idiomName) {
  std::vector<Input> inputs = {Input::of(Samples{}, settings), Input::of(Samples{}, IdiomRef{&idiom(idiomName), 1})};
  inputs.insert(inputs.end(), played.inputs.begin(), played.inputs.end());
  std::vector<ToldBeat> told;
  const Sink sink{&told, [](void*, const Output&) {},
                  [](void* context, const Fact& f) {
                    if (f.kind != FactKind::beat || f.status != FactStatus::final) return;
                    static_cast<std::vector<ToldBeat>*>(context)->push_back(
                        {static_cast<double>(f.falls.value) / performerRate,
                         static_cast<double>(f.sample.value) / performerRate, f.beatOfBar == 1, f.meter});
                  }};
  Engine engine;
  engine.prepare(performerRate);
  engine.process(inputs, Samples{std::llround((played.beats.back() + 0.2) * performerRate)}, sink);
  return told;
}

double fMeasure(const std::vector<double>& truth, const std::vector<double>& told, double within) {
  if (truth.empty() && told.empty()) return 1;
  int hits = 0;
  for (std::size_t t = 0, k = 0; t < truth.size() && k < told.size();) {
    if (std::abs(truth[t] - told[k]) <= within) {
      ++hits;
      ++t;
      ++k;
    } else if (told[k] < truth[t]) {
      ++k;
    } else {
      ++t;
    }
  }
  return 2.0 * hits / static_cast<double>(truth.size() + told.size());
}

namespace {

double continuity(const std::vector<double>& truth, const std::vector<double>& told) {
  int right = 0;
  bool before = false;
  std::size_t nearestBefore = 0;
  for (std::size_t i = 0; i < truth.size(); ++i) {
    const double interval = i > 0 ? truth[i] - truth[i - 1] : truth[1] - truth[0];
    const auto after = std::lower_bound(told.begin(), told.end(), truth[i]);
    auto k = static_cast<std::size_t>(after - told.begin());
    if (k == told.size() || (k > 0 && truth[i] - told[k - 1] < told[k] - truth[i])) --k;
    bool now = !told.empty() && std::abs(told[k] - truth[i]) < 0.175 * interval;
    if (now && before) now = k == nearestBefore + 1 && std::abs((told[k] - told[k - 1]) / interval - 1) < 0.175;
    right += now ? 1 : 0;
    before = !told.empty() && std::abs(told[k] - truth[i]) < 0.175 * interval;
    nearestBefore = k;
  }
  return static_cast<double>(right) / static_cast<double>(truth.size());
}

bool galloped(const Played& played, const std::vector<double>& told) {
  const std::size_t bars = static_cast<std::size_t>(2 * played.meter.numerator);
  for (std::size_t i = 0; i + bars < played.beats.size(); ++i) {
    const double from = played.beats[i], to = played.beats[i + bars];
    bool stopInside = false;
    for (const double r : played.returns) stopInside = stopInside || (r > from && r <= to + 0.01);
    if (stopInside) continue;
    std::vector<double> intervals;
    for (std::size_t k = 1; k < told.size(); ++k)
      if (told[k - 1] >= from && told[k] <= to) intervals.push_back(told[k] - told[k - 1]);
    if (intervals.size() < bars / 2 - 1) continue;
    std::sort(intervals.begin(), intervals.end());
    const double ratio = (to - from) / static_cast<double>(bars) / intervals[intervals.size() / 2];
    for (const double bad : {2.0, 0.5, 1.5, 2.0 / 3})
      if (std::abs(ratio / bad - 1) < 0.12) return true;
  }
  return false;
}

}  // namespace

Verdicts judge(const Played& played, const std::vector<ToldBeat>& told) {
  std::vector<double> beats, downbeats, trueDownbeats;
  for (const auto& t : told) {
    if (!t.live()) continue;
    beats.push_back(t.falls);
    if (t.downbeat) downbeats.push_back(t.falls);
  }
  for (std::size_t i = 0; i < played.beats.size(); ++i)
    if (played.downbeat[i] != 0) trueDownbeats.push_back(played.beats[i]);
  Verdicts v;
  v.beats = fMeasure(played.beats, beats);
  v.downbeats = fMeasure(trueDownbeats, downbeats);
  const double from = played.beats.front() + 5;
  const auto after = [from](std::vector<double> times) {
    std::erase_if(times, [from](double t) { return t < from; });
    return times;
  };
  v.settledBeats = fMeasure(after(played.beats), after(beats));
  v.settledDownbeats = fMeasure(after(trueDownbeats), after(downbeats));
  v.continuity = beats.size() < 2 ? 0 : continuity(played.beats, beats);
  v.galloped = galloped(played, beats);
  int met = 0;
  for (const double r : played.returns) {
    bool here = false;
    for (const double d : downbeats) here = here || std::abs(d - r) <= 0.07;
    met += here ? 1 : 0;
  }
  v.returns = static_cast<int>(played.returns.size());
  v.returned = v.returns > 0 ? static_cast<double>(met) / v.returns : 1;
  return v;
}

}  // namespace seguente::test
