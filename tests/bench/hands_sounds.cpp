#include "tests/bench/hands_sounds.h"

#include <algorithm>

namespace seguente::test {

namespace {

bool belongs(const Chord& chord, int key) {
  for (std::size_t i = 0; i < chord.count; ++i)
    if ((chord.root.value + chord.tones[i]) % 12 == key % 12) return true;
  return chord.bass.value == key % 12;
}

/// When the first finger of the chord landed.
double firstFinger(const TwoHands& p, const TrueChord& c) {
  double first = c.from;
  for (const auto& n : p.notes)
    if (n.hand == Hand::chord && n.on <= c.from && n.on > c.from - 0.3) first = std::min(first, n.on);
  return first;
}

}  // namespace

void SoundTally::add(const TwoHands& p, const std::vector<Sounded>& ours, const std::vector<Sounded>& passed) {
  last.clear();
  const auto count = [this](Kind kind, double at, double seconds, int key) {
    wrong[kind][0] += seconds > 0.02;
    wrong[kind][1] += seconds > 0.04;
    if (seconds > 0.02) last.push_back({kind, at, seconds, key});
  };
  for (std::size_t i = 0; i < p.notes.size(); ++i)
    if (p.notes[i].hand == Hand::chord) count(leaked, passed[i].from, passed[i].to - passed[i].from, passed[i].key);
  for (const auto& c : p.chords) {
    if (c.to - c.from < 0.1) continue;
    ++chords;
    const double first = firstFinger(p, c);
    double struck = 1e9, due = 0;
    for (std::size_t i = 0; i < ours.size(); ++i) {
      const auto& s = ours[i];
      if (s.from < first || s.from >= c.to) continue;
      if (s.from < struck && s.to > c.from) {
        struck = s.from;
        due = s.due;
      }
      if (!belongs(c.chord, s.key)) count(misStruck, s.from, std::min(s.to, c.to) - std::max(s.from, c.from), s.key);
      for (std::size_t k = i; k-- > 0 && ours[k].from > s.from - 0.25;)
        if (ours[k].key == s.key && ours[k].from >= first && s.from > s.due + 0.001) {
          count(reStruck, s.from, ours[k].to - ours[k].from, s.key);
          break;
        }
    }
    if (struck < 1e9) delays.push_back(std::max(0.0, struck - std::max(due, c.from)));
  }
}

double SoundTally::delayAt(double share) const {
  if (delays.empty()) return 0;
  auto sorted = delays;
  const auto at = std::min(sorted.size() - 1, static_cast<std::size_t>(share * static_cast<double>(sorted.size())));
  std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(at), sorted.end());
  return 1000 * sorted[at];
}

double SoundTally::perHundred(int kind, int longer) const {
  return chords == 0 ? 0 : 100.0 * wrong[static_cast<std::size_t>(kind)][static_cast<std::size_t>(longer)] / chords;
}

}  // namespace seguente::test
