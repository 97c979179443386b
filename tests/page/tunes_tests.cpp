// The reference tunes, as they are printed, against what a page writes when hands play them.
// Printed: tests/reference/tunes/*.abc. How hands play: tests/reference/touch (22 pianists): how far the tune leads the
// beat, and how long before the next key the last is let go.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "dsp/harmony.h"
#include "tests/catch.h"
#include "tests/page/abc_reader.h"
#include "tests/page/page_support.h"
#include "tests/support/random.h"

using namespace seguente;
using namespace seguente::test;

namespace {

using Json = nlohmann::json;

Json fileOf(const std::string& name) {
  std::ifstream file(std::string(SEGUENTE_TEST_REFERENCE) + name);
  return Json::parse(file);
}

/// Milliseconds, by straight lines between the published percentiles; the outer parts are left out.
class Measured {
 public:
  explicit Measured(const Json& facts) {
    const std::pair<double, const char*> names[] = {{0.05, "p05"}, {0.25, "p25"}, {0.5, "median"}, {0.75, "p75"},
                                                    {0.9, "p90"},  {0.95, "p95"}, {0.99, "p99"}};
    for (const auto& [at, name] : names) points_.emplace_back(at, facts.at(name).get<double>());
  }
  double draw(Random& random) const {
    const double where = 0.05 + 0.94 * static_cast<double>(random.between(0, 9999)) / 10000;
    for (std::size_t i = 1; i < points_.size(); ++i)
      if (where <= points_[i].first) {
        const auto& [a, low] = points_[i - 1];
        const auto& [b, high] = points_[i];
        return low + (high - low) * (where - a) / (b - a);
      }
    return points_.back().second;
  }

 private:
  std::vector<std::pair<double, double>> points_;
};

Ticks fraction(const std::string& text) {
  const auto slash = text.find('/');
  const std::int64_t n = std::stoll(text);
  return {quarter.value * n / (slash == std::string::npos ? 1 : std::stoll(text.substr(slash + 1)))};
}

double quartersPerMinute(const std::string& tempo) {  // "3/8=52"
  const auto equals = tempo.find('=');
  const auto slash = tempo.find('/');
  return std::stod(tempo.substr(slash + 1)) > 0
             ? 4 * std::stod(tempo) / std::stod(tempo.substr(slash + 1)) * std::stod(tempo.substr(equals + 1))
             : 0;
}

struct Score100 {
  int notes = 0, placed = 0, whole = 0, spelt = 0, named = 0;
};

/// The key as the engine finds it: tune and chords heard, then asked.
Key foundKey(const Json& tune) {
  KeyFinder finder;
  for (const auto& note : tune["melody"])
    finder.hear(NoteNumber{note[2].get<std::uint8_t>()}.pitchClass(), fraction(note[1]));
  for (const auto& chord : tune["chords"]) {
    finder.hearChord(*parseSymbol(chord[2].get<std::string>()), fraction(chord[1]));
    finder.update();
  }
  return finder.key();
}

Score100 compare(const Json& tune, const PrintedTune& printed, std::uint64_t seed, double unevenness) {
  const bool human = unevenness > 0;
  static const Json touch = fileOf("/touch/vienna4x22_touch.json")["all four"];
  static const Measured lead(touch["melody lead over left hand"]);
  static const Measured gap(touch["R hand, last key up to next chord down"]);
  Random random(seed);
  const double qpm = quartersPerMinute(tune["tempo"]);
  const auto ms = [&](double n) {
    return Ticks{static_cast<std::int64_t>(n * qpm / 60000 * static_cast<double>(quarter.value))};
  };
  page::Writer::Options options;
  options.bars = 1000;
  options.key = foundKey(tune);
  page::Writer writer(options);
  std::vector<std::pair<Ticks, page::Told>> told;
  const Ticks pickup = fraction(tune["pickup_quarters"]);
  told.emplace_back(Ticks{-1}, page::Told::time({}, printed.meter, pickup, qpm));
  for (std::size_t i = 0; i < tune["chords"].size(); ++i) {
    const auto& chord = tune["chords"][i];
    Chord named = *parseSymbol(chord[2].get<std::string>());
    spell(named, *options.key);
    told.emplace_back(fraction(chord[0]), page::Told::chordHeard(static_cast<std::uint32_t>(i + 1), fraction(chord[0]),
                                                                 named, *options.key));
  }
  const auto& melody = tune["melody"];
  std::vector<Ticks> starts;
  for (const auto& note : melody)
    starts.push_back(std::max(
        Ticks{}, fraction(note[0]) -
                     (human ? ms(lead.draw(random) / 2 + (unevenness - 1) * (lead.draw(random) - 22)) : Ticks{})));
  for (std::size_t i = 0; i < melody.size(); ++i) {
    const Ticks at = fraction(melody[i][0]), length = fraction(melody[i][1]);
    const auto id = static_cast<std::uint32_t>(i);
    const NoteNumber key{melody[i][2].get<std::uint8_t>()};
    Ticks end = at + length;
    if (human && i + 1 < melody.size() && fraction(melody[i + 1][0]) == end) {
      // As presets/demo/make_performance.py plays: never more than 35 % of the note is silence.
      Ticks silence = std::min(ms(gap.draw(random)), Ticks{length.value * 7 / 20});
      const bool same = melody[i + 1][2] == melody[i][2];
      silence = std::max(silence, ms(same ? 20 : -30));
      end = std::max(starts[i] + Ticks{length.value / 4}, starts[i + 1] - silence);
    }
    told.emplace_back(starts[i], page::Told::tuneNote(id, key, starts[i]));
    told.emplace_back(end, page::Told::tuneEnd(id, end));
  }
  std::stable_sort(told.begin(), told.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (const auto& [at, what] : told) writer.tell(what);
  writer.tell(page::Told::of(page::ToldKind::now, fraction(tune["total_quarters"]) + quarter * 8));

  Score100 score;
  const auto bars = barsOf(writer);
  for (const page::Bar& bar : bars) CHECK(faultOf(bar) == "");
  const auto read = readBack(bars);
  REQUIRE(printed.notes.size() == melody.size());
  for (std::size_t i = 0; i < printed.notes.size(); ++i) {
    const PrintedNote& p = printed.notes[i];
    ++score.notes;
    const auto found = std::find_if(read.begin(), read.end(), [&](const ReadNote& r) { return r.noteId == i; });
    if (found == read.end()) continue;
    const bool place = found->at == p.at;
    score.placed += place ? 1 : 0;
    score.whole += place && found->length == p.length ? 1 : 0;
    // The tune may be played an octave from where it is printed: the name counts.
    const bool name = ((found->step - p.step) % 7 == 0) && found->alteration == p.alteration;
    score.spelt += name ? 1 : 0;
    if (!name && std::getenv("SEGUENTE_TELL") != nullptr)
      std::printf("  note %zu: %d/%d printed %d/%d\n", i, found->step, found->alteration, p.step, p.alteration);
  }
  return score;
}

/// unevenness: 0 on the grid, 1 as measured, more: as much again, about the measured median of 22 ms.
Score100 allTunes(double unevenness, std::uint64_t seeds) {
  Score100 all;
  const Json tunes = fileOf("/tunes/tunes.json");
  for (const auto& tune : tunes) {
    const std::string file = tune["file"];
    INFO(file);
    const PrintedTune printed = readAbc(std::string(SEGUENTE_TEST_REFERENCE) + "/tunes/" + file);
    Score100 one;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
      const Score100 s = compare(tune, printed, seed, unevenness);
      one.notes += s.notes;
      one.placed += s.placed;
      one.whole += s.whole;
      one.spelt += s.spelt;
    }
    if (std::getenv("SEGUENTE_TELL") != nullptr)
      std::printf("%-45s %5d notes  placed %5.1f  with length %5.1f  spelt %5.1f\n", file.c_str(), one.notes,
                  100.0 * one.placed / one.notes, 100.0 * one.whole / one.notes, 100.0 * one.spelt / one.notes);
    all.notes += one.notes;
    all.placed += one.placed;
    all.whole += one.whole;
    all.spelt += one.spelt;
  }
  if (std::getenv("SEGUENTE_TELL") != nullptr)
    std::printf("all %d  placed %.2f  with length %.2f  spelt %.2f\n", all.notes, 100.0 * all.placed / all.notes,
                100.0 * all.whole / all.notes, 100.0 * all.spelt / all.notes);
  return all;
}

}  // namespace

TEST_CASE("tunes that are played on the grid are written as they are printed", "[page]") {
  const Score100 all = allTunes(0, 1);
  CHECK(all.notes > 1000);
  CHECK(all.placed == all.notes);
  CHECK(all.whole * 1000 >= all.notes * 990);
  CHECK(all.spelt * 1000 >= all.notes * 990);
}

TEST_CASE("tunes that hands play are written as they are printed, but for a few notes in a hundred", "[page]") {
  const Score100 all = allTunes(1, 4);
  CHECK(all.placed * 1000 >= all.notes * 980);
  CHECK(all.whole * 1000 >= all.notes * 950);
  CHECK(all.spelt * 1000 >= all.notes * 990);
}

TEST_CASE("hands twice as uneven are still read as printed nineteen times in twenty", "[page]") {
  const Score100 all = allTunes(2, 2);
  CHECK(all.placed * 100 >= all.notes * 95);
  CHECK(all.whole * 100 >= all.notes * 90);
}
