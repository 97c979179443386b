// time:Position as hosts send it: the LV2 time specification (time.ttl and its comments), what two real hosts and our
// framework's own were seen to do, and what nobody should.
#include <cmath>
#include <limits>

#include "plugin/lv2_time.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

constexpr double rate = 48000;

/// A host with the whole truth; what it tells is the test's choice.
struct Transport {
  double quarters = 0, tempo = 120;  // quarters a minute
  double barStart = 0;               // quarters
  std::int64_t bar = 0;
  double beatsPerBar = 4, beatUnit = 4;
  double frame = 0, speed = 1;

  double barLength() const { return beatsPerBar * 4 / beatUnit; }
  void roll(std::int64_t samples) {
    frame += static_cast<double>(samples) * speed;
    quarters += static_cast<double>(samples) * speed * tempo / 60 / rate;
    while (quarters - barStart >= barLength() - 1e-9) {
      barStart += barLength();
      ++bar;
    }
  }
  Lv2Position common() const {
    Lv2Position p;
    p.frame = frame;
    p.speed = speed;
    p.beatsPerBar = beatsPerBar;
    p.beatUnit = beatUnit;
    p.beatsPerMinute = tempo * beatUnit / 4;
    return p;
  }
  /// By the specification, place in the bar cut off to 1/1920 of a beat.
  Lv2Position barAndBeat() const {
    auto p = common();
    p.bar = static_cast<double>(bar);
    p.barBeat = static_cast<float>(std::floor((quarters - barStart) * beatUnit / 4 * 1920 + 1e-6) / 1920);
    return p;
  }
  /// As a sequencer that was tried: whole beats, and what is over in 1/1920 of a quarter; the tempo in some note.
  Lv2Position mixed(double tempoNote) const {
    auto p = common();
    const double beats = std::floor((quarters - barStart) * beatUnit / 4 + 1e-9);
    const double rest = quarters - barStart - beats * 4 / beatUnit;
    p.bar = static_cast<double>(bar);
    p.barBeat = static_cast<float>(beats + std::max(0.0, std::floor(rest * 1920 + 1e-6) / 1920));
    p.beatsPerMinute = tempo * tempoNote / 4;
    p.ownKeys = true;
    return p;
  }
  /// As our framework's host does: quarters whatever the unit, no bar count.
  Lv2Position inQuarters() const {
    auto p = common();
    p.beatsPerMinute = static_cast<float>(tempo);
    p.beat = quarters;
    p.barBeat = static_cast<float>(quarters - barStart);
    return p;
  }
};

/// Rolls block by block and looks at the place after each word.
template <class Says>
double worstAgainst(Transport& host, Lv2Time& time, int blocks, Says says, double offset = 0) {
  double worst = 0;
  for (int block = 0; block < blocks; ++block) {
    time.hear(says(host));
    worst = std::max(worst, std::abs(*time.now()->quarters + offset - host.quarters));
    time.advance(256);
    host.roll(256);
  }
  return worst;
}

const auto barAndBeat = [](const Transport& t) { return t.barAndBeat(); };
const auto inQuarters = [](const Transport& t) { return t.inQuarters(); };

Lv2Time fresh() {
  Lv2Time time;
  time.prepare(rate);
  return time;
}

}  // namespace

TEST_CASE("a host that has said nothing is nowhere", "[lv2_time]") {
  auto time = fresh();
  time.advance(1000);
  CHECK(!time.now());
}

TEST_CASE("a place cut off to 1/1920 of a beat does not make the beat tremble", "[lv2_time]") {
  Transport host;
  host.tempo = 117;
  auto time = fresh();
  // From a bar line: exact ever after. 1/1920 of a beat would be 12 samples.
  CHECK(worstAgainst(host, time, 20000, barAndBeat) * 60 / host.tempo * rate < 0.5);
}

TEST_CASE("a start at a place that was cut off comes within half of what is cut off", "[lv2_time]") {
  Transport host;
  host.tempo = 117;
  host.quarters = 2370.9 / 1920;
  auto time = fresh();
  CHECK(worstAgainst(host, time, 1, barAndBeat) < 1 / 1920.0);
  worstAgainst(host, time, 100, barAndBeat);
  CHECK(worstAgainst(host, time, 2000, barAndBeat) < 0.56 / 1920);
}

TEST_CASE("a place that is rounded to 1/1920 of a beat, up or down, does not make the beat tremble", "[lv2_time]") {
  Transport host;
  host.tempo = 93;
  auto time = fresh();
  const auto rounded = [](const Transport& t) {
    auto p = t.common();
    p.bar = static_cast<double>(t.bar);
    p.barBeat = static_cast<float>(std::round((t.quarters - t.barStart) * 1920) / 1920);
    return p;
  };
  CHECK(worstAgainst(host, time, 20000, rounded) < 1e-6);
}

TEST_CASE("a tempo that steps on a beat inside a block is told at the next one, and the place is exact", "[lv2_time]") {
  Transport host;
  host.tempo = 96;
  auto time = fresh();
  while (host.frame < 119700) worstAgainst(host, time, 1, barAndBeat);
  // The fourth quarter ends at sample 120,000; from there it is 150.
  time.hear(host.barAndBeat());
  time.advance(256);
  const auto before = static_cast<std::int64_t>(120000 - host.frame);
  REQUIRE(before > 0);
  REQUIRE(before < 256);
  host.roll(before);
  host.tempo = 150;
  host.roll(256 - before);
  CHECK(worstAgainst(host, time, 2000, barAndBeat) * 60 / host.tempo * rate < 0.01);
}

TEST_CASE("a host that speaks on change alone is carried on, bars counted", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 3;
  auto time = fresh();
  time.hear(host.barAndBeat());
  for (int block = 0; block < 1000; ++block) {
    time.advance(256);
    host.roll(256);
  }
  CHECK(*time.now()->quarters == Approx(host.quarters));
  CHECK(*time.now()->bar == host.bar);
  CHECK(time.now()->frame == static_cast<std::int64_t>(host.frame));
  host.speed = 0;
  time.hear(host.barAndBeat());
  time.advance(48000);
  CHECK(*time.now()->quarters == Approx(host.quarters));
  CHECK(time.now()->speed == 0);
}

TEST_CASE("where four quarters turn into three the place goes on, and the bars follow", "[lv2_time]") {
  Transport host;
  auto time = fresh();
  worstAgainst(host, time, 750, barAndBeat);  // two bars: 8 quarters
  CHECK(host.bar == 2);
  host.beatsPerBar = 3;
  CHECK(worstAgainst(host, time, 3000, barAndBeat) < 1e-4);
  CHECK(*time.now()->bar == host.bar);
}

TEST_CASE("a jump is a jump, also in bars alone", "[lv2_time]") {
  Transport host;
  auto time = fresh();
  worstAgainst(host, time, 100, barAndBeat);
  host = {};
  host.frame = 24000 * 40;
  host.quarters = 40;
  host.barStart = 40;
  host.bar = 10;
  CHECK(worstAgainst(host, time, 100, barAndBeat) < 1e-4);
}

TEST_CASE("other meters as a sequencer has them: whole beats, the rest in quarters, the tempo in any note",
          "[lv2_time]") {
  struct Meter {
    double beats, unit;
  };
  for (const auto& meter :
       {Meter{6, 8}, Meter{12, 8}, Meter{3, 8}, Meter{7, 16}, Meter{2, 2}, Meter{3, 2}, Meter{4, 4}})
    for (const double note : {2.0, 4.0, 8.0}) {
      INFO(meter.beats << "/" << meter.unit << ", tempo in 1/" << note);
      Transport host;
      host.beatsPerBar = meter.beats;
      host.beatUnit = meter.unit;
      host.tempo = 93;
      auto time = fresh();
      const auto says = [note](const Transport& t) { return t.mixed(note); };
      worstAgainst(host, time, 2, says);  // which note the tempo counts shows in the second block
      CHECK(*time.now()->quartersPerMinute == Approx(93));
      CHECK(worstAgainst(host, time, 3000, says) < 1e-6);
      CHECK(*time.now()->bar == host.bar);
      CHECK(*time.now()->quartersPerMinute == Approx(93));
    }
}

TEST_CASE("in short blocks, where the place moves by less than is cut off, the tempo's note is still found",
          "[lv2_time]") {
  for (const double note : {4.0, 8.0}) {
    Transport host;
    host.tempo = 60;
    auto time = fresh();
    double worst = 0;
    for (int block = 0; block < 20000; ++block) {
      time.hear(host.mixed(note));
      if (block > 30) worst = std::max(worst, std::abs(*time.now()->quartersPerMinute - 60));
      time.advance(32);
      host.roll(32);
    }
    CHECK(worst < 1e-9);
  }
}

TEST_CASE("a host that falls silent leaves bars that are counted on at their lines", "[lv2_time]") {
  for (const double unit : {4.0, 2.0}) {
    Transport host;
    host.beatUnit = unit;
    host.beatsPerBar = unit;
    auto time = fresh();
    const int words = unit == 4 ? 2 : 120;  // in halves, to the middle of the first
    worstAgainst(host, time, words, [](const Transport& t) { return t.mixed(8); });
    int wrong = 0;
    for (int step = 0; step < 30000; ++step) {
      wrong += *time.now()->bar != host.bar;
      time.advance(16);
      host.roll(16);
    }
    CHECK(wrong == 0);
  }
}

TEST_CASE("a bar that the sequencer cuts short does not teach us another way of counting", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 6;
  host.beatUnit = 8;
  host.tempo = 90;
  auto time = fresh();
  const auto says = [](const Transport& t) { return t.mixed(4); };
  while (host.quarters < 1) worstAgainst(host, time, 1, says);
  ++host.bar;
  host.barStart = host.quarters;
  CHECK(worstAgainst(host, time, 2000, says) < 1e-3);
  CHECK(*time.now()->quartersPerMinute == Approx(90));
}

TEST_CASE("a tempo that steps between two beats leaves the place where it is", "[lv2_time]") {
  Transport host;
  auto time = fresh();
  worstAgainst(host, time, 50, barAndBeat);
  host.tempo = 180;
  CHECK(worstAgainst(host, time, 1, barAndBeat) < 1e-9);
  CHECK(worstAgainst(host, time, 20, barAndBeat) < 1e-9);
}

TEST_CASE("a tempo that steps keeps the note that it is counted in", "[lv2_time]") {
  Transport host;
  auto time = fresh();
  const auto says = [](const Transport& t) { return t.mixed(8); };
  worstAgainst(host, time, 100, says);
  for (const double tempo : {40.0, 160.0, 55.0, 250.0}) {
    host.tempo = tempo;
    time.hear(says(host));
    CHECK(*time.now()->quartersPerMinute == Approx(tempo));
    time.advance(256);
    host.roll(256);
    worstAgainst(host, time, 100, says);
    CHECK(*time.now()->quartersPerMinute == Approx(tempo));
  }
}

TEST_CASE("other meters by the specification: everything in beats", "[lv2_time]") {
  for (const double unit : {2.0, 8.0, 16.0}) {
    INFO("beats of 1/" << unit);
    Transport host;
    host.beatsPerBar = unit == 2 ? 2 : 6;
    host.beatUnit = unit;
    host.tempo = 90;
    auto time = fresh();
    CHECK(worstAgainst(host, time, 3000, barAndBeat) < 1e-6);
    CHECK(*time.now()->quartersPerMinute == Approx(90));
    CHECK(*time.now()->bar == host.bar);
  }
}

TEST_CASE("six eighths in beats with a tempo in quarters is heard by how fast the place moves", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 6;
  host.beatUnit = 8;
  host.tempo = 90;
  auto time = fresh();
  const auto says = [](const Transport& t) {
    auto p = t.barAndBeat();
    p.beatsPerMinute = t.tempo;
    return p;
  };
  worstAgainst(host, time, 2, says);
  CHECK(*time.now()->quartersPerMinute == Approx(90));
  CHECK(worstAgainst(host, time, 2000, says) < 1e-6);
}

TEST_CASE("who is taken for another than he is, is found out: at half a beat, the next beat, or the bar line",
          "[lv2_time]") {
  for (const bool mixes : {true, false}) {
    INFO((mixes ? "mixes, without a key of its own" : "keeps to the specification, with a key of its own"));
    Transport host;
    host.beatsPerBar = 6;
    host.beatUnit = 8;
    host.tempo = 90;
    auto time = fresh();
    const auto says = [mixes](const Transport& t) {
      auto p = mixes ? t.mixed(4) : t.barAndBeat();
      p.ownKeys = !mixes;
      return p;
    };
    while (host.quarters < 0.6) worstAgainst(host, time, 1, says);
    CHECK(worstAgainst(host, time, 3000, says) < 0.56 / 1920);
    CHECK(*time.now()->quartersPerMinute == Approx(90));
    CHECK(*time.now()->bar == host.bar);
  }
  Transport host;
  host.beatsPerBar = 2;
  host.beatUnit = 2;
  auto time = fresh();
  const auto says = [](const Transport& t) {
    auto p = t.barAndBeat();
    p.ownKeys = true;
    return p;
  };
  while (host.quarters < 4.1) worstAgainst(host, time, 1, says);
  CHECK(worstAgainst(host, time, 2000, says) < 0.56 * 2 / 1920);
  CHECK(*time.now()->quartersPerMinute == Approx(120));
}

TEST_CASE("six eighths of a host that counts quarters throughout", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 6;
  host.beatUnit = 8;
  host.tempo = 90;
  auto time = fresh();
  CHECK(worstAgainst(host, time, 3000, inQuarters) < 1e-6);
  CHECK(*time.now()->quartersPerMinute == Approx(90));
}

TEST_CASE("a host that sends a running beat by the specification is found out within the bar", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 6;
  host.beatUnit = 8;
  host.tempo = 90;
  auto time = fresh();
  const auto spec = [](const Transport& t) {
    auto p = t.barAndBeat();
    p.beat = t.quarters * 2;
    return p;
  };
  worstAgainst(host, time, 260, spec);  // beyond the third eighth: no bar of three quarters is so long
  CHECK(worstAgainst(host, time, 1000, spec) < 1e-4);
  CHECK(*time.now()->quartersPerMinute == Approx(90));
}

TEST_CASE("a host that sends bars and beats in quarters is found out at the first bar line", "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 6;
  host.beatUnit = 8;
  host.tempo = 90;
  auto time = fresh();
  const auto odd = [](const Transport& t) {
    auto p = t.common();
    p.beatsPerMinute = t.tempo;
    p.bar = static_cast<double>(t.bar);
    p.barBeat = t.quarters - t.barStart;
    return p;
  };
  worstAgainst(host, time, 400, odd);  // a bar is 2 s, 375 blocks
  const double offset = host.quarters - *time.now()->quarters;
  CHECK(std::abs(offset - std::round(offset * 8) / 8) < 1e-6);
  CHECK(worstAgainst(host, time, 1000, odd, offset) < 1e-4);
}

TEST_CASE("a running beat keeps its fractions, and bar lines off the grid move it by less than a bar, once",
          "[lv2_time]") {
  Transport host;
  host.beatsPerBar = 3;
  host.barStart = -2;  // a pickup of one quarter
  auto time = fresh();
  time.hear(host.inQuarters());
  const double shift = *time.now()->quarters - host.quarters;
  CHECK(std::fmod(*time.now()->quarters - (host.quarters - host.barStart), 3) == Approx(0).margin(1e-6));
  CHECK(std::abs(shift) < 3);
  time.advance(256);
  host.roll(256);
  CHECK(worstAgainst(host, time, 3000, inQuarters, -shift) < 1e-9);
}

TEST_CASE("frames and a tempo make a place; frames alone only say that it plays", "[lv2_time]") {
  auto time = fresh();
  Lv2Position p;
  p.frame = 48000;
  p.speed = 1;
  time.hear(p);
  CHECK(time.now()->speed == 1);
  CHECK(!time.now()->quarters);
  p.beatsPerMinute = 60;
  time.hear(p);
  CHECK(*time.now()->quarters == Approx(1));
  time.advance(24000);
  p.frame = 72000;
  p.beatsPerMinute = 120;  // another tempo is no jump
  time.hear(p);
  CHECK(*time.now()->quarters == Approx(1.5));
  p.frame = 0;
  time.hear(p);
  CHECK(*time.now()->quarters == Approx(0).margin(1e-9));
}

TEST_CASE("half speed goes half as far", "[lv2_time]") {
  Transport host;
  host.speed = 0.5;
  auto time = fresh();
  CHECK(worstAgainst(host, time, 1000, barAndBeat) < 1e-4);
}

TEST_CASE("rubbish from a host changes nothing", "[lv2_time]") {
  Transport host;
  auto time = fresh();
  worstAgainst(host, time, 100, barAndBeat);
  const auto before = *time.now();
  for (const double bad : {std::nan(""), std::numeric_limits<double>::infinity(), 1e300, -1e300}) {
    Lv2Position p;
    p.frame = p.speed = p.bar = p.barBeat = p.beat = p.beatUnit = p.beatsPerBar = p.beatsPerMinute = bad;
    time.hear(p);
  }
  Lv2Position p;
  p.beatUnit = 3;
  p.beatsPerBar = 0;
  p.beatsPerMinute = 0;
  time.hear(p);
  CHECK(*time.now()->quarters == *before.quarters);
  CHECK(*time.now()->quartersPerMinute == *before.quartersPerMinute);
  CHECK(time.now()->beatUnit == 4);
  CHECK(time.now()->beatsPerBar == 4);
  CHECK(time.now()->speed == 1);
}
