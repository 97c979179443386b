#include "plugin/editor/hand_measure.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <unordered_map>

#include "plugin/rehearsal.h"

namespace seguente::screen {

namespace {

int measure(const Idiom& idiom) {
  RehearsalTask task;
  task.idiom = &idiom;
  task.settings.density = Density::lean;
  task.meter = idiom.anyMeter ? Meter{4, 4} : idiom.meter;
  KeySet chord;
  for (const int key : {48, 52, 55}) chord.add({static_cast<std::uint8_t>(key)});
  task.chords = {chord};
  const auto made = rehearse(task);
  std::map<std::int64_t, std::pair<int, int>> struck;  // by tick: lowest and highest key
  for (const auto& told : made.told) {
    if (told.kind != page::ToldKind::ourNote || told.part == PartKind::percussion) continue;
    const int key = told.key.value;
    auto [at, fresh] = struck.try_emplace(told.reason.dueTick.value, key, key);
    if (!fresh) at->second = {std::min(at->second.first, key), std::max(at->second.second, key)};
  }
  if (struck.empty()) return 1;
  double span = 0, leaps = 0;
  const std::pair<int, int>* last = nullptr;
  for (const auto& [tick, keys] : struck) {
    span = std::max(span, static_cast<double>(keys.second - keys.first));
    if (last != nullptr) leaps += std::abs(keys.first - last->first);
    last = &keys;
  }
  leaps /= std::max(1.0, static_cast<double>(struck.size()) - 1);
  const double quarters = static_cast<double>(made.length.value) / static_cast<double>(quarter.value);
  const double aSecond = static_cast<double>(struck.size()) / quarters * (idiom.tempoLow + idiom.tempoHigh) / 2 / 60;
  const double measure = aSecond / 1.6 + std::max(0.0, span - 8) / 3 + std::max(0.0, leaps - 5) / 5;
  return std::clamp(static_cast<int>(std::lround(measure)), 1, 5);
}

}  // namespace

/// A window is opened often, an idiom seldom changes: known by its text.
int leftHandMeasure(const Idiom& idiom) {
  static std::unordered_map<std::string, int> known;
  const auto [at, fresh] = known.try_emplace(idiom.text, 1);
  if (fresh) at->second = measure(idiom);
  return at->second;
}

}  // namespace seguente::screen
