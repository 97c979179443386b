// The key as it goes, against six published profiles' answers over 27 tunes (tests/reference/key,
// tests/reference/tunes).
#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/chord_types.h"
#include "tests/harmony/reference.h"

namespace seguente {
using reference::key;
using reference::load;
using reference::ticks;
using Names = std::vector<std::string>;

namespace {

const Names pitchNames{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"};

/// The slow and obvious correlation of a histogram with a profile rotated to a tonic.
double pearson(const std::vector<double>& histogram, const std::vector<double>& profile, std::size_t tonic) {
  double meanH = 0, meanP = 0;
  for (std::size_t i = 0; i < 12; ++i) {
    meanH += histogram[i] / 12;
    meanP += profile[i] / 12;
  }
  double both = 0, squaresH = 0, squaresP = 0;
  for (std::size_t i = 0; i < 12; ++i) {
    const double h = histogram[i] - meanH, p = profile[(i + 12 - tonic) % 12] - meanP;
    both += h * p;
    squaresH += h * h;
    squaresP += p * p;
  }
  return squaresH == 0 ? 0 : both / std::sqrt(squaresH * squaresP);
}

using Ranked = std::vector<std::pair<double, std::string>>;

Ranked rank(const std::vector<double>& histogram, const nlohmann::json& profiles) {
  Ranked all;
  for (const std::string mode : {"major", "minor"})
    for (std::size_t tonic = 0; tonic < 12; ++tonic)
      all.emplace_back(pearson(histogram, profiles.at(mode), tonic), pitchNames[tonic] + " " + mode);
  std::sort(all.rbegin(), all.rend());
  return all;
}

/// What the finder's own correlations say, best first, after the histogram was heard: an eighth of its length, in 64
/// slices, so that fading touches every pitch class alike.
Ranked ourRank(const std::vector<double>& quarters) {
  KeyFinder finder;
  for (int slice = 0; slice < 64; ++slice)
    for (std::uint8_t pc = 0; pc < 12; ++pc)
      finder.hear(PitchClass{pc},
                  Ticks{static_cast<std::int64_t>(quarters[pc] * static_cast<double>(quarter.value) / 64 / 8)});
  const auto found = finder.correlations();
  Ranked all;
  for (std::size_t k = 0; k < 24; ++k) all.emplace_back(found[k], pitchNames[k % 12] + (k < 12 ? " major" : " minor"));
  std::sort(all.rbegin(), all.rend());
  return all;
}

/// The tune's key as one of the 24: dorian counts as minor.
Key keyOf(const nlohmann::json& tune) {
  const std::string mode = tune.at("mode");
  return key(tune.at("tonic").get<std::string>() + (mode == "major" ? " major" : " minor"));
}

bool same(const Key& a, const Key& b) {
  return a.known && b.known && a.mode == b.mode && a.tonic.pitchClass() == b.tonic.pitchClass();
}

std::string number(const nlohmann::json& tune) { return tune.at("file").get<std::string>().substr(0, 2); }

Key fromMelody(const nlohmann::json& tune) {
  KeyFinder finder;
  for (const auto& note : tune.at("melody")) {
    finder.hear(PitchClass::of(note.at(2).get<int>()), ticks(note.at(1)));
    finder.update();
  }
  return finder.key();
}

struct Heard {
  Key last;
  int right = 0;
  int chords = 0;
};

/// Chords and melody in the order of time; after each chord the finder is asked, as the engine asks it.
Heard fromBoth(const nlohmann::json& tune, bool withMelody) {
  struct Event {
    Ticks at;
    int order;
    const nlohmann::json* what;
  };
  std::vector<Event> events;
  if (withMelody)
    for (const auto& note : tune.at("melody")) events.push_back({ticks(note.at(0)) + ticks(note.at(1)), 0, &note});
  for (const auto& chord : tune.at("chords")) events.push_back({ticks(chord.at(0)), 1, &chord});
  std::stable_sort(events.begin(), events.end(),
                   [](const Event& a, const Event& b) { return a.at != b.at ? a.at < b.at : a.order < b.order; });
  KeyFinder finder;
  Heard heard;
  for (const auto& event : events) {
    if (event.order == 0) {
      finder.hear(PitchClass::of(event.what->at(2).get<int>()), ticks(event.what->at(1)));
      continue;
    }
    finder.hearChord(parseSymbol(event.what->at(2).get<std::string>()).value(), ticks(event.what->at(1)));
    ++heard.chords;
    heard.right += same(finder.update(), keyOf(tune)) ? 1 : 0;
  }
  heard.last = finder.update();
  return heard;
}

}  // namespace

TEST_CASE("The slow correlation in this test gives the six published profiles' answers", "[harmony][key]") {
  // key_examples.json: best three keys of each profile for each tune, to four places
  const auto profiles = load("key/profiles.json");
  const auto examples = load("key/key_examples.json");
  int answers = 0;
  for (const auto& example : examples)
    for (const auto& [name, best] : example.at("says").items()) {
      INFO(example.at("file").get<std::string>() << ", " << name);
      const auto ranked = rank(example.at("histogram_quarters"), profiles.at(name));
      for (std::size_t i = 0; i < 3; ++i) {
        CHECK(ranked[i].first == Approx(best.at(i).at(1).get<double>()).margin(0.00006));
        ++answers;
      }
    }
  CHECK(answers == 27 * 6 * 3);
}

TEST_CASE("The finder's correlations are those of Krumhansl and Kessler 1982", "[harmony][key]") {
  const auto profiles = load("key/profiles.json");
  const auto examples = load("key/key_examples.json");
  for (const auto& example : examples) {
    INFO(example.at("file").get<std::string>());
    const auto slow = rank(example.at("histogram_quarters"), profiles.at("krumhansl-kessler-1982"));
    const auto ours = ourRank(example.at("histogram_quarters"));
    const auto& published = example.at("says").at("krumhansl-kessler-1982");
    for (std::size_t i = 0; i < 3; ++i)
      CHECK(ours[i].first == Approx(published.at(i).at(1).get<double>()).margin(0.002));  // fading: under 0.002
    for (const auto& [value, name] : slow) {
      const auto found =
          std::find_if(ours.begin(), ours.end(), [wanted = name](const auto& o) { return o.second == wanted; });
      CHECK(found->first == Approx(value).margin(0.002));
    }
  }
  // REFERENCES section 3, by hand
  CHECK(ourRank({1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1})[0].second == "C major");
  CHECK(ourRank({1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1})[0].first == Approx(0.7564).margin(0.002));
  CHECK(ourRank({1, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0})[0].first == Approx(0.8338).margin(0.002));
  CHECK(ourRank({0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0})[0].second == "F# minor");
  CHECK(ourRank({0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0})[0].first == Approx(0.8886).margin(0.002));
  CHECK(ourRank({7, 0, 5, 0, 7, 16, 0, 16, 0, 15, 6, 0})[0].second == "F major");
  CHECK(ourRank({7, 0, 5, 0, 7, 16, 0, 16, 0, 15, 6, 0})[0].first == Approx(0.759).margin(0.002));
}

TEST_CASE("When all tones are heard alike there is no key", "[harmony][key]") {
  // REFERENCES section 3: no key (0; must not crash)
  KeyFinder finder;
  CHECK_FALSE(finder.update().known);  // silence
  for (int round = 0; round < 8; ++round)
    for (std::uint8_t pc = 0; pc < 12; ++pc) finder.hear(PitchClass{pc}, Ticks{quarter.value / 64});
  for (const float c : finder.correlations()) CHECK(std::abs(c) < 0.2F);
  for (std::uint8_t pc = 0; pc < 12; ++pc) finder.hear(PitchClass{pc}, quarter);
  CHECK_FALSE(finder.update().known);
}

TEST_CASE("A single note is not enough for a key, a first chord held for a half note is", "[harmony][key]") {
  KeyFinder finder;
  finder.hear(PitchClass{0}, quarter);
  CHECK_FALSE(finder.update().known);
  finder.reset();
  finder.hearChord(parseSymbol("G").value(), quarter * 2);
  CHECK(same(finder.update(), key("G")));
}

TEST_CASE("The tunes that anyone should get right are right from the melody alone", "[harmony][key]") {
  // REFERENCES section 3: all six profiles get these
  const Names easy{"02", "05", "06", "07", "08", "11", "12", "13", "15", "17", "20", "21", "22", "24", "28"};
  int right = 0;
  Names wrong;
  const auto tunes = load("tunes/tunes.json");
  for (const auto& tune : tunes) {
    const bool found = same(fromMelody(tune), keyOf(tune));
    INFO(tune.at("file").get<std::string>());
    if (std::find(easy.begin(), easy.end(), number(tune)) != easy.end()) {
      CHECK(found);
      ++right;
    } else if (!found) {
      wrong.push_back(number(tune));
    }
  }
  CHECK(right == 15);
  // Of the twelve others these seven need their chords: 10 (right by .003 only with the 1982 profile, and lost by
  // fading), 04 and 14 (dorian), 23 (stays around its fifth), 25 (goes to G), 26 (blues), 27 (travels).
  CHECK(wrong == Names{"04", "10", "14", "23", "25", "26", "27"});
}

TEST_CASE("Chords help where the melody alone misleads", "[harmony][key]") {
  Names wrong;
  int right = 0, chords = 0;
  const auto tunes = load("tunes/tunes.json");
  for (const auto& tune : tunes) {
    const auto heard = fromBoth(tune, true);
    if (!same(heard.last, keyOf(tune))) wrong.push_back(number(tune) + " " + std::string(nameOf(heard.last).view()));
    right += heard.right;
    chords += heard.chords;
  }
  // 25 We Three Kings: its refrain is in G, and ends there: right as it goes. 27 is a study that travels (C, Bb, Am, C)
  // and comes home by Db7-C6, no V-I, in its last bar only.
  CHECK(wrong == Names{"25 G major", "27 A minor"});
  CHECK(chords == 506);
  CHECK(right == 483);  // 95.5 % of the chords are already given the tune's key when they are struck
}

TEST_CASE("A left hand alone gives the key as well", "[harmony][key]") {
  int right = 0, chords = 0;
  const auto tunes = load("tunes/tunes.json");
  for (const auto& tune : tunes) {
    const auto heard = fromBoth(tune, false);
    right += heard.right;
    chords += heard.chords;
  }
  CHECK(right == 477);  // 94.3 %
  CHECK(chords == 506);
}

TEST_CASE("A borrowed chord does not change the key, a new section does", "[harmony][key]") {
  // common practice, no source
  KeyFinder finder;
  const auto play = [&](const Names& symbols) {
    for (const auto& symbol : symbols) {
      finder.hearChord(parseSymbol(symbol).value(), quarter * 4);
      finder.update();
    }
    return finder.key();
  };
  CHECK(same(play({"C", "F", "G7", "C"}), key("C")));
  CHECK(same(play({"Ab", "Bb", "C", "D7", "G7", "C"}), key("C")));
  CHECK(same(play({"Eb", "Ab", "Bb7", "Eb", "Cm", "Fm", "Bb7", "Eb", "Ab", "Eb", "Bb7", "Eb"}), key("Eb")));
}

TEST_CASE("A key that is fixed stays, until it is freed", "[harmony][key]") {
  KeyFinder finder;
  finder.fix(key("F# minor"));
  for (int i = 0; i < 8; ++i) finder.hearChord(parseSymbol("C").value(), quarter * 4);
  CHECK(nameOf(finder.update()).view() == "F# minor");
  finder.reset();
  CHECK(nameOf(finder.update()).view() == "F# minor");
  finder.fix(Key{});
  CHECK_FALSE(finder.update().known);
  for (int i = 0; i < 8; ++i) finder.hearChord(parseSymbol("C").value(), quarter * 4);
  CHECK(same(finder.update(), key("C")));
}

TEST_CASE("Keys are named with at most six accidentals", "[harmony][key]") {
  // REFERENCES section 2: flats F Bb Eb Ab Db and D G C F Bb Eb minor; sharps G D A E B F# and E B F# C# G# minor
  const Names major{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"};
  const Names minor{"C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"};
  for (std::size_t i = 0; i < 12; ++i)
    for (const auto& [tonics, tail] : {std::pair{major, ""}, std::pair{minor, "m"}}) {
      KeyFinder finder;
      finder.hearChord(parseSymbol(tonics[i] + tail).value(), quarter * 4);
      INFO(tonics[i] << tail);
      CHECK(nameOf(finder.update()).view() == tonics[i] + (tail[0] == 'm' ? " minor" : " major"));
    }
}

}  // namespace seguente
