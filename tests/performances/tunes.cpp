#include "tests/performances/tunes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "dsp/chord_types.h"
#include "dsp/harmony.h"

namespace seguente::test {

namespace {

double fraction(const std::string& text) {
  const auto slash = text.find('/');
  const double top = std::stod(text.substr(0, slash));
  return slash == std::string::npos ? top : top / std::stod(text.substr(slash + 1));
}

Meter meterOf(const std::string& text) {
  const auto slash = text.find('/');
  return {static_cast<std::uint8_t>(std::stoi(text.substr(0, slash))),
          static_cast<std::uint8_t>(std::stoi(text.substr(slash + 1)))};
}

Chord chordOf(const std::string& symbol) {
  const auto chord = parseSymbol(symbol);
  if (!chord) throw std::runtime_error("no chord symbol: " + symbol);
  return *chord;
}

Tune read(const nlohmann::json& j) {
  Tune t;
  t.name = j.at("file").get<std::string>();
  t.meter = meterOf(j.at("meter"));
  t.pickup = fraction(j.at("pickup_quarters"));
  t.bar = fraction(j.at("bar_quarters"));
  t.length = fraction(j.at("total_quarters"));
  const std::string tempo = j.at("tempo");
  const auto equals = tempo.find('=');
  t.quartersPerMinute = fraction(tempo.substr(0, equals)) * 4 * std::stod(tempo.substr(equals + 1));
  for (const auto& n : j.at("melody")) t.melody.push_back({fraction(n[0]), fraction(n[1]), n[2].get<int>()});
  for (const auto& c : j.at("chords")) {
    t.chords.push_back({fraction(c[0]), fraction(c[1]), chordOf(c[2])});
    // The same symbol twice in a row is one chord that is struck again; it stays two.
  }
  return t;
}

struct Degree12 {
  int semitones;
  const char* tail;
};
/// Common practice, no source: which chords a song in major or minor uses, and where each likes to go.
constexpr std::array<Degree12, 13> inMajor = {{{0, ""},
                                               {2, "m"},
                                               {4, "m"},
                                               {5, ""},
                                               {7, ""},
                                               {9, "m"},
                                               {7, "7"},
                                               {2, "7"},
                                               {2, "m7"},
                                               {0, "7"},
                                               {5, "m"},
                                               {0, "6"},
                                               {0, "maj7"}}};
constexpr std::array<Degree12, 13> inMinor = {{{0, "m"},
                                               {2, "m7b5"},
                                               {3, ""},
                                               {5, "m"},
                                               {7, ""},
                                               {8, ""},
                                               {7, "7"},
                                               {10, "7"},
                                               {10, ""},
                                               {0, "7"},
                                               {8, "maj7"},
                                               {0, "m6"},
                                               {0, "m7"}}};
const std::vector<std::vector<int>> goesTo = {{3, 4, 5, 1, 6, 9, 8, 2, 11, 12},
                                              {4, 6, 6, 3},
                                              {5, 3},
                                              {0, 4, 6, 1, 10},
                                              {0, 5, 0, 6},
                                              {1, 3, 7, 4, 8},
                                              {0, 0, 5, 0},
                                              {4, 6},
                                              {6, 6, 4},
                                              {3, 3},
                                              {0, 6},
                                              {8, 6, 1},
                                              {3, 8, 5}};
constexpr std::array<const char*, 12> names = {"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"};
constexpr std::array<int, 7> majorScale = {0, 2, 4, 5, 7, 9, 11}, minorScale = {0, 2, 3, 5, 7, 8, 10};

/// Onsets within a bar of four, three or two quarters (6/8 counts as three).
std::vector<double> rhythm(double bar, Random& random, bool busy) {
  std::vector<double> out;
  for (double at = 0; at < bar - 0.01;) {
    out.push_back(at);
    const double left = bar - at;
    const auto draw = random.between(0, 9);
    double length = busy ? (draw < 6 ? 0.5 : draw < 8 ? 0.25 : 1) : draw < 5 ? 1 : draw < 7 ? 0.5 : draw < 8 ? 1.5 : 2;
    if (length == 0.5 && std::fmod(at, 1) < 0.1 && random.oneIn(4)) {
      out.push_back(at + 1.0 / 3);
      out.push_back(at + 2.0 / 3);
      length = 1;
    }
    at += std::min(length, left);
  }
  return out;
}

bool has(const Chord& chord, int key) {
  for (std::size_t i = 0; i < chord.count; ++i)
    if ((chord.root.value + chord.tones[i]) % 12 == key % 12) return true;
  return false;
}

}  // namespace

std::vector<Tune> realTunes(Half half) {
  std::ifstream file(std::string(SEGUENTE_TEST_REFERENCE) + "/tunes/tunes.json");
  if (!file) throw std::runtime_error("tunes.json is missing");
  std::vector<Tune> out;
  std::size_t number = 0;
  for (const auto& j : nlohmann::json::parse(file))
    if ((number++ % 2 == 0) == (half == Half::learn)) out.push_back(read(j));
  return out;
}

Tune transposed(const Tune& tune, int semitones) {
  Tune t = tune;
  for (auto& n : t.melody) n.key += semitones;
  for (auto& c : t.chords)
    c.chord = makeChord(c.chord.root + Interval{semitones}, c.chord.type, c.chord.bass + Interval{semitones});
  return t;
}

Tune inventedTune(Random& random) {
  Tune t;
  t.name = "invented";
  const std::vector<Meter> meters = {{4, 4}, {4, 4}, {3, 4}, {2, 4}, {6, 8}};
  t.meter = random.oneOf(meters);
  t.bar = t.meter.numerator * 4.0 / t.meter.denominator;
  t.quartersPerMinute = static_cast<double>(random.between(56, 160));
  const int tonic = static_cast<int>(random.between(0, 11));
  const bool minor = random.oneIn(3);
  const auto bars = random.between(8, 16);
  const bool twoABar = random.oneIn(4), busy = random.oneIn(2);
  const auto& scale = minor ? minorScale : majorScale;
  if (random.oneIn(3)) t.pickup = random.oneIn(2) ? 1 : 0.5;
  const int low = static_cast<int>(random.between(57, 65)), range = static_cast<int>(random.between(9, 19));
  int place = low + range / 2;
  std::size_t chord = 0;
  for (double at = t.pickup; at < t.pickup + static_cast<double>(bars) * t.bar - 0.01;) {
    const double length = twoABar && random.oneIn(2) ? t.bar / 2 : t.bar;
    const auto& row = (minor ? inMinor : inMajor)[chord];
    const auto symbol = std::string(names[static_cast<std::size_t>((tonic + row.semitones) % 12)]) + row.tail;
    t.chords.push_back({at, length, chordOf(symbol)});
    at += length;
    chord = static_cast<std::size_t>(random.oneOf(goesTo[chord]));
  }
  t.length = t.chords.back().at + t.chords.back().length;
  std::vector<double> onsets;
  if (t.pickup > 0) onsets = t.pickup == 1 && random.oneIn(2) ? std::vector<double>{0, 0.5} : std::vector<double>{0};
  auto cell = rhythm(t.bar, random, busy);
  for (std::int64_t bar = 0; bar < bars; ++bar) {
    if (random.oneIn(2)) cell = rhythm(t.bar, random, busy);
    for (const double at : cell)
      if (!random.oneIn(14)) onsets.push_back(t.pickup + static_cast<double>(bar) * t.bar + at);
  }
  std::size_t under = 0;
  int direction = 1;
  for (std::size_t i = 0; i < onsets.size(); ++i) {
    const double end = i + 1 < onsets.size() ? onsets[i + 1] : t.length;
    while (under + 1 < t.chords.size() && t.chords[under + 1].at <= onsets[i]) ++under;
    const bool strong = std::fmod(onsets[i] - t.pickup + 8 * t.bar, t.bar / 2) < 0.01;
    if (random.oneIn(3)) direction = -direction;
    int move = static_cast<int>(random.oneIn(4) ? random.between(3, 9) : random.between(0, 3)) * direction;
    int key = place + move;
    if (key < low) key = low + static_cast<int>(random.between(0, 4)), direction = 1;
    if (key > low + range) key = low + range - static_cast<int>(random.between(0, 4)), direction = -1;
    for (int tries = 0; tries < 12; ++tries, key += direction) {
      const int degree = (key - tonic + 120) % 12;
      const bool inScale = std::find(scale.begin(), scale.end(), degree) != scale.end();
      if (strong ? has(t.chords[under].chord, key) : (inScale || has(t.chords[under].chord, key))) break;
    }
    place = key;
    t.melody.push_back({onsets[i], std::max(0.1, std::min(end - onsets[i], t.bar)), key});
  }
  if (t.melody.empty()) t.melody.push_back({t.pickup, 1, place});
  return t;
}

}  // namespace seguente::test
