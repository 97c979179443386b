#include "tests/follow/performer.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numbers>
#include <stdexcept>

namespace seguente::test {

double uniform(Random& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random.next() >> 11) / 9007199254740992.0;
}

double normal(Random& random) {  // Box and Muller 1958
  const double u = 1 - uniform(random, 0, 1);
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * std::numbers::pi * uniform(random, 0, 1));
}

namespace {

double fraction(const std::string& text) {
  const auto slash = text.find('/');
  if (slash == std::string::npos) return std::stod(text);
  return std::stod(text.substr(0, slash)) / std::stod(text.substr(slash + 1));
}

/// Plain root positions between C3 and D4: enough for the beat, whose ear hears when and not what.
std::vector<int> chordKeys(const std::string& symbol) {
  constexpr int natural[7] = {9, 11, 0, 2, 4, 5, 7};
  int root = natural[symbol.at(0) - 'A'];
  std::size_t at = 1;
  for (; at < symbol.size() && (symbol[at] == '#' || symbol[at] == 'b'); ++at) root += symbol[at] == '#' ? 1 : -1;
  root = 48 + (root + 12) % 12;
  const std::string rest = symbol.substr(at);
  const bool minor = !rest.empty() && rest[0] == 'm' && rest.rfind("maj", 0) != 0;
  std::vector<int> keys = {root, root + (minor ? 3 : 4), root + 7};
  if (rest.find('7') != std::string::npos) keys.push_back(root + 10);
  return keys;
}

/// The time of every place, with a tempo that bends: phrases of four bars, quick in the middle and slow at the ends
/// (Todd 1985, Music Perception 3), a random walk over them, and what stops the flow.
class TimeMap {
 public:
  TimeMap(const Tune& tune, const Manner& manner, double total, Random& random) : beat_(4.0 / tune.meter.denominator) {
    const double quarterLength = 60.0 / (tune.quartersPerMinute * manner.tempo);
    const double phrase = 4 * tune.bar;
    double walk = 0, time = 0;
    for (int i = 0; i <= static_cast<int>((total + 8) * steps); ++i) {
      times_.push_back(time);
      if (i % (steps / 2) == 0) walk = 0.93 * walk + 0.14 * manner.depth * normal(random);
      const double in = static_cast<double>(i) / steps - tune.pickup;
      const double u = in / phrase - std::floor(in / phrase);
      const double arch = 0.7 * manner.depth * (1.5 * (2 * u - 1) * (2 * u - 1) - 0.5);
      time += quarterLength / steps * (1 + std::clamp(arch + walk, -manner.depth, manner.depth));
    }
  }
  /// From `place` on everything comes later.
  void pause(double place, double seconds) {
    for (auto i = static_cast<std::size_t>(place * steps + 0.5); i < times_.size(); ++i) times_[i] += seconds;
  }
  double at(double place) const {
    const double x = std::max(0.0, place) * steps;
    const auto i = std::min(static_cast<std::size_t>(x), times_.size() - 2);
    return times_[i] + (x - static_cast<double>(i)) * (times_[i + 1] - times_[i]);
  }
  /// Just before a place: on the near side of a pause that lies there.
  double before(double place) const { return at(place - 1e-6 - 0.5 / steps); }

 private:
  static constexpr int steps = 24;  // a quarter
  double beat_;
  std::vector<double> times_;
};

class Keyboard {
 public:
  Keyboard(Played& played, Random& random) : played_(played), random_(random) {}
  void note(int channel, int key, int velocity, double from, double to) {
    from = std::max(from, 0.001);
    message(static_cast<std::uint8_t>(0x90 | channel), key, velocity, from);
    message(static_cast<std::uint8_t>(0x80 | channel), key, 64, std::max(to, from + 0.03));
  }
  void chord(const std::vector<int>& keys, double from, double to) {
    const double median = keys.size() > 2 ? 0.016 : 0.010;
    const double spread = median * std::exp((keys.size() > 2 ? 0.57 : 0.73) * normal(random_));
    for (std::size_t i = 0; i < keys.size(); ++i) {
      const double finger = i == 0 ? 0 : i == 1 ? spread : uniform(random_, 0, spread);
      const auto which = (i + static_cast<std::size_t>(turn_)) % keys.size();
      note(1, keys[which], 60 + static_cast<int>(random_.between(0, 15)), from + finger,
           std::max(from + 0.1, to - uniform(random_, 0, 0.05)));
    }
    turn_ = static_cast<int>(random_.between(0, 3));
  }

 private:
  void message(std::uint8_t status, int key, int value, double at) {
    MidiMessage m;
    m.bytes = {status, static_cast<std::uint8_t>(key), static_cast<std::uint8_t>(value)};
    m.length = 3;
    played_.inputs.push_back(Input::of(Samples{std::llround(at * performerRate)}, m));
    played_.end = std::max(played_.end, at);
  }
  Played& played_;
  Random& random_;
  int turn_ = 0;
};

void inOrder(std::vector<Input>& inputs) {
  std::stable_sort(inputs.begin(), inputs.end(), [](const Input& a, const Input& b) { return a.sample < b.sample; });
}

/// What happens at some chords of a learner, and at fermatas.
struct Stop {
  double place = 0;
  double seconds = 0;
  bool lifted = false;  // the chord hand lets go while it searches
  double wrongFor = 0;  // so long a wrong chord stands before the right one
};

}  // namespace

std::vector<Tune> readTunes() {
  std::ifstream file(SEGUENTE_TEST_REFERENCE "/tunes/tunes.json");
  if (!file) throw std::runtime_error("tunes.json is missing");
  const auto json = nlohmann::json::parse(file);
  std::vector<Tune> tunes;
  for (const auto& t : json) {
    Tune tune;
    tune.title = t.at("title");
    const std::string meter = t.at("meter");
    tune.meter = {static_cast<std::uint8_t>(std::stoi(meter)),
                  static_cast<std::uint8_t>(std::stoi(meter.substr(meter.find('/') + 1)))};
    const std::string tempo = t.at("tempo");
    const auto equals = tempo.find('=');
    tune.quartersPerMinute = std::stod(tempo.substr(equals + 1)) * fraction(tempo.substr(0, equals)) * 4;
    tune.pickup = fraction(t.at("pickup_quarters"));
    tune.bar = fraction(t.at("bar_quarters"));
    tune.total = fraction(t.at("total_quarters"));
    for (const auto& n : t.at("melody"))
      tune.melody.push_back({fraction(n.at(0)), fraction(n.at(1)), {n.at(2).get<int>()}});
    for (const auto& c : t.at("chords")) {
      const std::string symbol = c.at(2);
      if (symbol[0] < 'A' || symbol[0] > 'G') continue;
      tune.chords.push_back({fraction(c.at(0)), fraction(c.at(1)), chordKeys(symbol)});
    }
    tunes.push_back(std::move(tune));
  }
  return tunes;
}

namespace {

std::vector<Stop> stopsOf(const Tune& tune, const Manner& manner, double total, Random& random) {
  std::vector<Stop> stops;
  if (manner.fermatas)
    for (double bar = tune.pickup + 4 * tune.bar; bar + 2 * tune.bar < total; bar += 4 * tune.bar)
      if (random.oneIn(2)) stops.push_back({bar, uniform(random, 0.8, 3.0), false, 0});
  if (manner.learner)
    for (const auto& c : tune.chords) {
      if (c.at < tune.pickup + 2 * tune.bar || !random.oneIn(5)) continue;
      Stop stop{c.at, uniform(random, 1.0, 2.0), random.oneIn(2), 0};
      if (random.oneIn(3)) stop.wrongFor = uniform(random, 0.5, 0.9);
      stops.push_back(stop);
    }
  return stops;
}

const Stop* stopAt(const std::vector<Stop>& stops, double place) {
  for (const auto& s : stops)
    if (std::abs(s.place - place) < 1e-3) return &s;
  return nullptr;
}

}  // namespace

Played play(const Tune& tune, const Manner& manner, std::uint64_t seed) {
  Random random(seed);
  Played played;
  played.meter = tune.meter;
  // A repeat begins where the first bar line would come next.
  const double body = std::ceil((tune.total - tune.pickup) / tune.bar - 1e-6) * tune.bar;
  Tune whole = tune;
  for (int r = 1; r < manner.repeats; ++r) {
    for (const auto& n : tune.melody)
      if (n.at >= tune.pickup) whole.melody.push_back({n.at + r * body, n.length, n.keys});
    for (const auto& c : tune.chords)
      if (c.at >= tune.pickup) whole.chords.push_back({c.at + r * body, c.length, c.keys});
  }
  whole.total = tune.pickup + body * manner.repeats;
  if (manner.chordsHeldOver) {
    for (std::size_t i = 0; i + 1 < whole.chords.size();)
      if (whole.chords[i].keys == whole.chords[i + 1].keys) {
        whole.chords[i].length += whole.chords[i + 1].length;
        whole.chords.erase(whole.chords.begin() + static_cast<std::ptrdiff_t>(i) + 1);
      } else {
        ++i;
      }
  }
  TimeMap map(whole, manner, whole.total, random);
  const auto stops = stopsOf(whole, manner, whole.total, random);
  for (const auto& s : stops) {
    map.pause(s.place, s.seconds + s.wrongFor);
    played.returns.push_back(s.place);
  }
  Keyboard keyboard(played, random);
  const double start = 0.2;
  for (std::size_t i = 0; i < whole.chords.size(); ++i) {
    const auto& c = whole.chords[i];
    const double struck = start + map.at(c.at) + 0.011 + 0.008 * normal(random);
    const double next = i + 1 < whole.chords.size() ? whole.chords[i + 1].at : c.at + c.length;
    const Stop* stop = stopAt(stops, next);
    double until = start + map.at(next) - uniform(random, 0.02, 0.3);
    if (stop != nullptr && stop->lifted) until = start + map.before(next) - 0.1;
    if (stop != nullptr && stop->wrongFor > 0) until = std::min(until, start + map.at(next) - stop->wrongFor - 0.05);
    if (const Stop* here = stopAt(stops, c.at); here != nullptr && here->wrongFor > 0) {
      auto wrong = c.keys;
      for (int& k : wrong) k += random.oneIn(2) ? 2 : -1;
      keyboard.chord(wrong, struck - here->wrongFor, struck - 0.06);
    }
    keyboard.chord(c.keys, struck, std::max(until, struck + 0.15));
  }
  for (const auto& n : whole.melody) {
    const double struck = start + map.at(n.at) - 0.011 + std::hypot(0.008, 0.017) * normal(random);
    const Stop* stop = stopAt(stops, n.at + n.length);
    double until = start + map.at(n.at + n.length) - 0.03;
    if (stop != nullptr && stop->lifted) until = start + map.before(n.at + n.length);
    keyboard.note(0, n.keys[0], 70 + static_cast<int>(random.between(0, 30)), struck, until);
  }
  inOrder(played.inputs);
  const double beat = 4.0 / tune.meter.denominator;
  const double first = whole.chords.front().at;
  for (int k = -32; whole.pickup + k * beat < whole.total - 1e-6; ++k) {
    const double place = whole.pickup + k * beat;
    if (place < first - 1e-6) continue;
    played.beats.push_back(start + map.at(place));
    played.downbeat.push_back(((k % tune.meter.numerator) + tune.meter.numerator) % tune.meter.numerator == 0 ? 1 : 0);
  }
  for (double& r : played.returns) r = start + map.at(r);
  return played;
}

Settings followingSettings(Meter meter, bool guess) {
  Settings s;
  s.handRule = HandRule::byChannel;
  s.melodyChannels = 1;
  s.chordChannels = 2;
  s.follow.on = true;
  s.follow.guessMeter = guess;
  if (!guess) s.follow.meter = meter;
  return s;
}

}  // namespace seguente::test
