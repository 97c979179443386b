#include "tests/support/hands.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace seguente::test {

namespace {

const std::vector<std::vector<int>> shapes = {
    {0, 4, 7}, {0, 3, 7}, {0, 5, 9},    {0, 6, 8}, {0, 3, 8},     {0, 4, 7, 10}, {0, 3, 7, 10},
    {0, 7},    {0},       {0, 3, 6, 9}, {0, 4, 8}, {0, 4, 7, 11}, {0, 1},        {0, 2, 4, 5, 7}};
const std::vector<Meter> meters = {{4, 4}, {3, 4}, {2, 4}, {6, 8}, {12, 8}, {5, 4}, {7, 8}};

class Player {
 public:
  Player(std::uint64_t seed, const HandsOptions& options)
      : random_(seed),
        options_(options),
        idioms_(idiomIds()),
        meter_(random_.oneOf(meters)),
        tempo_(static_cast<double>(random_.between(50, 220))),
        score_(options.rate, meter_, tempo_),
        end_(at(options.seconds)) {}

  Performance play() {
    settings_ = someSettings();
    score_.with(settings_).with(idiom(random_.oneOf(idioms_)));
    if (options_.transport) playTransport();
    playChords();
    playTune();
    if (options_.listening) playLow();
    if (options_.otherIdioms) changeIdioms();
    if (options_.rubbish) playRubbish();
    return {score_, settings_, end_};
  }

 private:
  Samples at(double seconds) const { return {std::llround(seconds * options_.rate)}; }
  Samples milliseconds(std::int64_t low, std::int64_t high) {
    return at(static_cast<double>(random_.between(low, high)) / 1000.0);
  }
  Samples beat(Samples where) const {
    const Stretch* in = &score_.stretches().front();
    for (const auto& s : score_.stretches())
      if (s.sample <= where) in = &s;
    return at(240.0 / (in->quartersPerMinute * in->meter.denominator));
  }
  void note(int status, int channel, int note, int velocity, Samples when) {
    score_.message({static_cast<std::uint8_t>(status | channel), static_cast<std::uint8_t>(note),
                    static_cast<std::uint8_t>(velocity)},
                   std::clamp(when, Samples{}, end_ - Samples{1}));
  }

  Settings someSettings() {
    Settings s;
    s.density = random_.oneOf(std::vector{Density::lean, Density::medium, Density::full});
    if (options_.tuneChannel) s.outputChannel = {0, 0, 0, 0};
    if (options_.twoChannels) {
      s.handRule = HandRule::byChannel;
      s.chordChannels = 1u << 1;
      s.melodyChannels = 1u << 0;
    }
    if (options_.listening) s.handRule = HandRule::automatic;
    s.waitForChord = random_.oneIn(5);
    s.keep = random_.oneIn(8);
    s.changeIdiomAtOnce = random_.oneIn(2);
    s.registerShift = static_cast<std::int8_t>(random_.between(-1, 1));
    if (random_.oneIn(4)) s.swingPermille = static_cast<std::int32_t>(random_.between(1000, 3000));
    return s;
  }

  void playChords() {
    const int chordChannel = options_.twoChannels ? 1 : 0;
    Samples when = milliseconds(0, 800);
    while (when < end_) {
      const auto beats = random_.oneOf(std::vector<std::int64_t>{1, 1, 2, 3, 4, 4, 8});
      const auto parts = random_.oneOf(std::vector<std::int64_t>{1, 1, 1, 2});
      const auto next = when + Samples{beat(when).value * beats / parts} + milliseconds(-40, 40);
      const auto lastUp = next - milliseconds(-60, 400);
      const int low = static_cast<int>(random_.between(36, 51));
      for (const int interval : random_.oneOf(shapes)) {
        const auto down = when + milliseconds(0, 60);
        note(0x90, chordChannel, low + interval, static_cast<int>(random_.between(30, 110)), down);
        const int off = random_.oneIn(3) ? 0x90 : 0x80;
        note(off, chordChannel, low + interval, 0, std::max(down + Samples{1}, lastUp - milliseconds(0, 90)));
      }
      when = random_.oneIn(9) ? next + milliseconds(500, 2500) : next;
    }
  }

  void playTune() {
    Samples when = milliseconds(0, 1500);
    while (when < end_) {
      const auto parts = random_.between(1, 3);
      const auto next = when + Samples{beat(when).value / parts} + milliseconds(1, 60);
      const int key = static_cast<int>(options_.tuneChannel ? random_.between(60, 67) : random_.between(60, 86));
      note(0x90, 0, key, static_cast<int>(random_.between(40, 120)), when);
      note(0x80, 0, key, 64, next - milliseconds(-30, 100));
      if (random_.oneIn(12)) note(0xB0, 0, 64, random_.oneIn(2) ? 127 : 0, when);
      when = random_.oneIn(8) ? next + milliseconds(200, 1200) : next;
    }
  }

  /// The tune dips among the chord hand's keys, short and long, so that verdicts are changed.
  void playLow() {
    for (Samples when = milliseconds(0, 600); when < end_; when = when + milliseconds(30, 900)) {
      const int key = static_cast<int>(random_.between(50, 70));
      note(0x90, 0, key, static_cast<int>(random_.between(30, 120)), when);
      note(0x80, 0, key, 64, when + milliseconds(5, 700));
    }
  }

  void playTransport() {
    Samples when = milliseconds(500, 3000);
    while (when < end_) {
      const auto here = score_.tickAt(when);
      switch (random_.between(1, 6)) {
        case 1:
          score_.jump(when, here);  // says where we are
          break;
        case 2:
          score_.jump(when, quarters(static_cast<double>(random_.between(-8, 64))));
          break;
        case 3:
          score_.jump(when, here, false);
          score_.jump(when + milliseconds(100, 1500), here);
          when = when + milliseconds(1500, 1600);
          break;
        case 4:
          score_.jump(when, here + Ticks{random_.between(-3000, 3000)});  // a little off
          break;
        case 5:
          score_.tempoFrom(when, static_cast<double>(random_.between(40, 260)));
          break;
        default:
          score_.meterFrom(when, random_.oneOf(meters));
      }
      when = when + milliseconds(300, 4000);
    }
  }

  void changeIdioms() {
    Samples when = milliseconds(800, 4000);
    while (when < end_) {
      score_.add(when, Input::of(when, IdiomRef{&idiom(random_.oneOf(idioms_)), ++generation_}));
      if (random_.oneIn(2)) {
        auto s = settings_;
        s.density = random_.oneOf(std::vector{Density::lean, Density::medium, Density::full});
        s.swingPermille = static_cast<std::int32_t>(random_.between(1000, 2500));
        score_.add(when, Input::of(when, s));
      }
      if (random_.oneIn(2))
        score_.add(when, Input::of(when, random_.oneOf(std::vector{Gesture::hold, Gesture::goOn, Gesture::end})));
      when = when + milliseconds(700, 4000);
    }
  }

  void playRubbish() {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const double infinite = std::numeric_limits<double>::infinity();
    for (Samples when = milliseconds(0, 300); when < end_; when = when + milliseconds(1, 300)) {
      const int key = static_cast<int>(random_.between(0, 127));
      const int channel = static_cast<int>(random_.between(0, 2));
      TimeAnchor bad;
      bad.tick = Ticks{random_.between(-1000000000000, 1000000000000)};
      bad.barStart = Ticks{random_.between(-1000000000000, 1000000000000)};
      bad.quartersPerMinute = random_.oneOf(std::vector{nan, infinite, -infinite, 0.0, -120.0, 1e300, 1e-300, 90.0});
      bad.meter = random_.oneOf(std::vector<Meter>{{0, 0}, {0, 4}, {255, 255}, {33, 4}, {4, 3}, {3, 4}});
      bad.playing = !random_.oneIn(4);
      switch (random_.between(1, 8)) {
        case 1:
          note(0x80, channel, key, 0, when);
          break;
        case 2:
          note(0x90, channel, key, 100, when);
          break;
        case 3:
          score_.message({0xF0, 0x7E, 0x7F, 0x09, 0x01, 0xF7}, when);
          break;
        case 4:
          score_.message({0xFE}, when);
          break;
        case 5:
          score_.message({}, when);
          break;
        case 6:
          note(0xB0, channel, static_cast<int>(random_.between(0, 127)), 0, when);
          break;
        case 7:
          score_.anchor(when, bad);
          break;
        default:
          note(0xE0, channel, 0, 64, when);
      }
    }
  }

  Random random_;
  HandsOptions options_;
  std::vector<std::string> idioms_;
  Meter meter_;
  double tempo_;
  Score score_;
  Settings settings_{};
  Samples end_{};
  std::uint32_t generation_ = 1000;
};

}  // namespace

Performance randomHands(std::uint64_t seed, const HandsOptions& options) { return Player(seed, options).play(); }

}  // namespace seguente::test
