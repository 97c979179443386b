// Time as hosts tell it. Each test plays a host that counts by the slow and obvious way, and looks at what the engine's
// own clock makes of the anchors. What hosts do: seen in two real hosts (position in every block or only on change, a
// slightly negative first block, blocks cut at a loop's end); the arithmetic is computed here.
#include <cmath>
#include <limits>

#include "dsp/clock.h"
#include "plugin/host_time.h"
#include "tests/catch.h"
#include "tests/support/random.h"
#include "tests/support/score.h"

using namespace seguente;
using seguente::test::quarters;

namespace {

/// A transport at a steady tempo; tests change its fields between blocks.
struct Host {
  double rate = 48000;
  double place = 0;  // quarters, at the next block
  double tempo = 120;
  Meter meter{4, 4};
  bool playing = true;
  void roll(std::int64_t samples) {
    if (playing) place += static_cast<double>(samples) * tempo / 60 / rate;
  }
  HostPosition says() const {
    HostPosition p;
    p.quarters = place;
    p.quartersPerMinute = tempo;
    p.meter = meter;
    p.playing = playing;
    return p;
  }
};

/// The engine's end: its clock, told by HostTime.
struct Listener {
  explicit Listener(double rate = 48000) {
    time.prepare(rate);
    clock.reset(rate);
  }
  HostTime time;
  Clock clock;
  TimeSettings settings;
  Samples at{};
  int anchors = 0, jumps = 0;
  std::optional<TimeAnchor> last;
  ClockChange change = ClockChange::nothing;

  std::optional<TimeAnchor> hear(const std::optional<HostPosition>& said, std::int64_t length = 256) {
    const auto anchor = time.block(said, at, length, settings);
    change = ClockChange::nothing;
    if (anchor) {
      ++anchors;
      last = anchor;
      change = clock.anchor(*anchor, at);
    }
    jumps += time.jumped() ? 1 : 0;
    at = {at.value + length};
    return anchor;
  }
  void hear(Host& host, std::int64_t length = 256) {
    hear(host.says(), length);
    host.roll(length);
  }
  double quartersNow() const {
    return static_cast<double>(clock.tickAt(at).value) / static_cast<double>(quarter.value);
  }
  double barNow() const {
    return static_cast<double>(clock.barAt(clock.tickAt(at)).value) / static_cast<double>(quarter.value);
  }
};

}  // namespace

TEST_CASE("a host that rolls steadily is told of once, and every beat is on its own sample", "[host_time]") {
  for (const double rate : {44100.0, 48000.0, 96000.0})
    for (const double tempo : {30.0, 100.0, 120.0, 133.7, 300.0}) {
      INFO(rate << " Hz, " << tempo);
      Host host{rate};
      host.tempo = tempo;
      Listener listener{rate};
      for (int block = 0; block < 5000; ++block) listener.hear(host);
      CHECK(listener.anchors == 1);
      for (int beat = 0; beat < 200; ++beat)
        CHECK(listener.clock.sampleOf(quarters(beat)).value == std::llround(beat * 60 * rate / tempo));
    }
}

TEST_CASE("a host that tells its place on change alone is carried on", "[host_time]") {
  Host host;
  Listener listener;
  listener.hear(host);
  for (int block = 1; block < 500; ++block) CHECK(!listener.hear(std::nullopt));
  CHECK(listener.clock.playing());
  CHECK(listener.quartersNow() == Approx(500 * 256 / 24000.0));
  host.place = 40;
  listener.hear(host);
  CHECK(listener.quartersNow() == Approx(40 + 256 / 24000.0));
  host.playing = false;
  listener.hear(host);
  for (int block = 0; block < 20; ++block) listener.hear(std::nullopt);
  CHECK_FALSE(listener.clock.playing());
}

TEST_CASE("a host without a word about time leaves our own tempo running from the first sample", "[host_time]") {
  for (const bool says : {false, true}) {
    Listener listener;
    listener.settings.ownTempo = 90;
    listener.settings.ownMeter = {3, 4};
    const auto said = says ? std::optional(HostPosition{}) : std::nullopt;
    const auto first = listener.hear(said);
    REQUIRE(first);
    CHECK(first->playing);
    CHECK(first->tick == Ticks{});
    CHECK(first->meter == Meter{3, 4});
    for (int block = 0; block < 100; ++block) CHECK(!listener.hear(said));
    CHECK(listener.clock.sampleOf(quarters(1)) == Samples{32000});
  }
}

TEST_CASE("a host that was silent and begins to speak takes over", "[host_time]") {
  Listener listener;
  for (int block = 0; block < 10; ++block) listener.hear(std::nullopt);
  Host host;
  host.place = 7.5;
  host.tempo = 60;
  listener.hear(host);
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);  // the keys are still where they were
  CHECK(listener.clock.sampleOf(quarters(8)) == Samples{2560 + 24000});
  for (int block = 0; block < 10; ++block) CHECK(!listener.hear(std::nullopt));  // silent again: carried on
}

TEST_CASE("a host that tells a tempo alone gives our own clock that tempo", "[host_time]") {
  Listener listener;
  HostPosition tempoAlone;
  tempoAlone.quartersPerMinute = 60;
  for (int block = 0; block < 10; ++block) listener.hear(tempoAlone);
  CHECK(listener.anchors == 1);
  CHECK(listener.clock.playing());
  CHECK(listener.clock.sampleOf(quarters(1)) == Samples{48000});
}

TEST_CASE("a host that says only that it plays begins on a bar's first beat", "[host_time]") {
  Listener listener;
  for (int block = 0; block < 33; ++block) listener.hear(std::nullopt);
  HostPosition playing;
  playing.playing = true;
  const auto start = listener.at;
  for (int block = 0; block < 10; ++block) listener.hear(playing);
  CHECK(listener.clock.sampleOf({}) == start);
  CHECK(listener.anchors == 2);
  playing.playing = false;
  listener.hear(playing);
  CHECK_FALSE(listener.clock.playing());
  playing.playing = true;
  const auto again = listener.at;
  listener.hear(playing);
  CHECK(listener.clock.sampleOf({}) == again);
}

TEST_CASE("a bounce has its first note at its first sample", "[host_time]") {
  Host host;
  Listener listener;
  const auto first = listener.hear(host.says());
  REQUIRE(first);
  CHECK(first->playing);
  CHECK(listener.change == ClockChange::started);
  CHECK(listener.clock.sampleOf({}) == Samples{});
}

TEST_CASE("a first place a hair before the bar, as one host gives it, is the bar", "[host_time]") {
  Host host;
  host.place = -1e-9;
  Listener listener;
  listener.hear(host);
  CHECK(listener.clock.sampleOf({}) == Samples{});
}

TEST_CASE("a stopped host is stopped, is heard when it moves its place, and starts where it says", "[host_time]") {
  Host host;
  host.playing = false;
  Listener listener;
  for (int block = 0; block < 50; ++block) listener.hear(host);
  CHECK(listener.anchors == 1);
  CHECK_FALSE(listener.clock.playing());
  host.place = 12;
  listener.hear(host);
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);
  host.playing = true;
  host.place = 16.25;
  listener.hear(host);
  CHECK(listener.change == ClockChange::started);
  CHECK(listener.clock.sampleOf(quarters(16.25)) == Samples{51 * 256});
  host.playing = false;
  host.place = 0;  // some hosts go back as they stop
  listener.hear(host);
  CHECK(listener.change == ClockChange::stopped);
  CHECK(listener.jumps == 0);
}

TEST_CASE("pre-roll: bars before the song's first are bars", "[host_time]") {
  Host host;
  host.meter = {3, 4};
  host.place = -4;
  Listener listener;
  listener.hear(host);
  CHECK(listener.barNow() == Approx(-6));
  for (int block = 0; block < 400; ++block) listener.hear(host);
  CHECK(listener.anchors == 1);
  CHECK(listener.clock.sampleOf({}) == Samples{4 * 24000});
}

TEST_CASE("a loop's end is a jump each time round, and its first beat is on its sample", "[host_time]") {
  Host host;
  Listener listener;
  for (int pass = 0; pass < 5; ++pass) {
    const auto start = listener.at;
    host.place = 0;
    for (int block = 0; block < 328; ++block) listener.hear(host);
    listener.hear(host, 84000 - 328 * 256);  // the host cuts the block: 3.5 quarters are 84,000 samples
    CHECK(listener.jumps == pass);
    CHECK(listener.clock.sampleOf({}) == start);
  }
  CHECK(listener.anchors == 5);
}

TEST_CASE("a jump ahead is a jump, and what noise or a ramp does is none", "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 10; ++block) listener.hear(host);
  host.place += 0.02;  // 10 ms
  listener.hear(host);
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);
  host.place += 2;
  listener.hear(host);
  CHECK(listener.anchors == 3);
  CHECK(listener.jumps == 1);
  listener.hear(host);
  CHECK(listener.jumps == 1);
}

TEST_CASE("a tempo that steps at a block puts every later beat on its own sample", "[host_time]") {
  // Exact here, because places and tempi are: a place that falls between two ticks costs at most half a tick.
  Host host;
  Listener listener;
  struct Step {
    double tempo;
    int blocks;
  };
  Samples start{};
  double place = 0;
  for (const auto& step : {Step{120, 375}, Step{60, 750}, Step{150, 300}, Step{120, 375}, Step{75, 600}}) {
    host.tempo = step.tempo;
    for (int block = 0; block < step.blocks; ++block) listener.hear(host);  // four quarters each
    for (int beat = 0; beat < 4; ++beat)
      CHECK(listener.clock.sampleOf(quarters(place + beat)).value ==
            start.value + std::llround(beat * 60 * 48000 / step.tempo));
    place += 4;
    start = listener.at;
  }
  CHECK(listener.anchors == 5);
  CHECK(listener.jumps == 0);
}

TEST_CASE("a tempo that steps anywhere keeps every beat within half a tick of its own sample", "[host_time]") {
  test::Random random(7);
  Host host;
  Listener listener;
  for (int step = 0; step < 200; ++step) {
    host.tempo = static_cast<double>(random.between(400, 2400)) / 10;
    const auto start = listener.at;
    const double place = host.place;
    const auto blocks = random.between(20, 200);
    for (int block = 0; block < blocks; ++block) listener.hear(host, 1 + random.between(0, 600));
    const double samplesPerQuarter = 60 * 48000 / host.tempo;
    for (double beat = std::ceil(place); beat < host.place; ++beat) {
      const double exact = static_cast<double>(start.value) + (beat - place) * samplesPerQuarter;
      const auto heard = static_cast<double>(listener.clock.sampleOf(quarters(beat)).value);
      CHECK(std::abs(heard - exact) <= 0.5 + 0.5 * samplesPerQuarter / static_cast<double>(quarter.value) + 1e-3);
    }
  }
  CHECK(listener.anchors == 200);
  CHECK(listener.jumps == 0);
}

TEST_CASE("in a ramp each block is right at its start and off by r T^2 / 2 b at most at its end", "[host_time]") {
  const double rate = 48000;
  for (const double ramp : {-20.0, 10.0, 40.0})  // quarters/min a second
    for (const std::int64_t length : {64, 256, 1024, 4096}) {
      INFO(ramp << " in blocks of " << length);
      Listener listener{rate};
      const double blockSeconds = static_cast<double>(length) / rate;
      double worst = 0, bound = 0;
      for (double seconds = 0; seconds < 3; seconds += blockSeconds) {
        const auto placeAt = [&](double t) { return (120 * t + ramp * t * t / 2) / 60; };
        HostPosition said;
        said.quarters = placeAt(seconds);
        said.quartersPerMinute = 120 + ramp * seconds;
        said.playing = true;
        const auto start = listener.at;
        listener.hear(said, length);
        CHECK(listener.quartersNow() > 0);
        // Where we think the block's end is, against where the host is by then.
        const auto startTick =
            static_cast<double>(listener.clock.tickAt(start).value) / static_cast<double>(quarter.value);
        CHECK(std::abs(startTick - *said.quarters) < 1.5 / static_cast<double>(quarter.value));
        const double off = listener.quartersNow() - placeAt(seconds + blockSeconds);
        worst = std::max(worst, std::abs(off) * 60 / *said.quartersPerMinute);
        bound = std::max(bound, std::abs(ramp) * blockSeconds * blockSeconds / 2 / *said.quartersPerMinute);
      }
      CHECK(worst <= bound + 1.5 / rate);  // the tick that the clock gives is the one before
      CHECK(worst > 0.9 * bound);
      CHECK(listener.jumps == 0);
    }
}

TEST_CASE("a big tempo step inside a big block is no jump", "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 4; ++block) listener.hear(host, 16384);
  // It went on at 120 for half a block, then at 180: the host is 57 ms further than 120 leads to.
  host.place += 8192 * (180 - 120) / 60.0 / 48000;
  host.tempo = 180;
  listener.hear(host, 16384);
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);
}

TEST_CASE("the bar line is where the host says, also after a pickup or a change of meter", "[host_time]") {
  Host host;
  host.meter = {4, 4};
  Listener listener;
  double barStart = -3;  // a pickup of one quarter
  host.place = 0;
  const auto hear = [&] {
    while (barStart + host.meter.numerator * 4.0 / host.meter.denominator <= host.place + 1e-9) {
      barStart += host.meter.numerator * 4.0 / host.meter.denominator;
      if (barStart >= 8.9) host.meter = {3, 4};
    }
    auto said = host.says();
    said.barStart = barStart;
    listener.hear(said, 240);
    host.roll(240);
  };
  hear();
  CHECK(listener.barNow() == Approx(-3));
  while (host.place < 8.5) hear();
  CHECK(listener.anchors == 1);
  CHECK(listener.barNow() == Approx(5));
  while (host.place < 13) hear();
  CHECK(listener.anchors == 2);
  CHECK(listener.clock.meter() == Meter{3, 4});
  CHECK(listener.barNow() == Approx(12));
  CHECK(listener.jumps == 0);
}

TEST_CASE("bar starts that stray by less than a sample are no news", "[host_time]") {
  Host host;
  Listener listener;
  double side = 1e-5;  // a quarter of a sample
  while (host.place < 40) {
    auto said = host.says();
    const double line = std::floor(host.place / 4 + 1e-9) * 4;
    said.barStart = line + (line > 0 ? side : 0);
    listener.hear(said, 240);
    host.roll(240);
    side = -side;
  }
  CHECK(listener.anchors == 1);
}

TEST_CASE("a bar start that cannot be is not believed: the meter over the song's start is", "[host_time]") {
  for (const double barStart : {99.0, -5.0, std::nan(""), std::numeric_limits<double>::infinity(), 1e300}) {
    INFO(barStart);
    Host host;
    host.meter = {3, 4};
    host.place = 7;
    Listener listener;
    for (int block = 0; block < 300; ++block) {
      auto said = host.says();
      said.barStart = barStart;
      listener.hear(said);
      host.roll(256);
    }
    CHECK(listener.anchors == 1);
    CHECK(listener.barNow() == Approx(std::floor(host.place / 3) * 3));
  }
}

TEST_CASE("a bar start that runs along with the place is not believed against a count of bars", "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 2000; ++block) {
    auto said = host.says();
    said.bar = static_cast<std::int64_t>(std::floor(host.place / 4));
    said.barStart = block < 500 ? std::floor(host.place / 4) * 4 : host.place;
    listener.hear(said);
    host.roll(256);
  }
  CHECK(listener.barNow() == Approx(20));
  CHECK(listener.anchors == 1);
}

TEST_CASE("a count of bars finds the bar line at the next one, to the beat", "[host_time]") {
  // Rolling begins inside a 3/4 that stands after four quarters of 4/4 and one of pickup: bars at 5, 8, 11.
  Host host;
  host.meter = {3, 4};
  host.place = 5.5;
  Listener listener;
  const auto hear = [&] {
    auto said = host.says();
    said.bar = 2 + static_cast<std::int64_t>(std::floor((host.place - 5) / 3));
    listener.hear(said, 256);
    host.roll(256);
  };
  while (host.place < 8.5) hear();
  CHECK(listener.barNow() == Approx(8));
  const int anchors = listener.anchors;
  CHECK(anchors == 2);
  while (host.place < 30) hear();
  CHECK(listener.anchors == anchors);
  CHECK(listener.barNow() == Approx(29));
  CHECK(listener.jumps == 0);
}

TEST_CASE("a meter that changes without a word on bars begins at the old meter's bar line", "[host_time]") {
  Host host;
  Listener listener;
  while (host.place < 8) listener.hear(host, 250);
  host.meter = {3, 4};
  while (host.place < 12) listener.hear(host, 250);
  CHECK(listener.barNow() == Approx(11));
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);
  host.place = 30.5;  // from here nothing is known but the meter, over the song's start
  listener.hear(host, 250);
  CHECK(listener.barNow() == Approx(30));
}

TEST_CASE("a host that never names a meter is in the idiom's", "[host_time]") {
  Listener listener;
  listener.settings.ownMeter = {3, 4};
  Host host;
  const auto hear = [&] {
    auto said = host.says();
    said.meter = std::nullopt;
    listener.hear(said);
    host.roll(256);
  };
  while (host.place < 6.5) hear();
  CHECK(listener.clock.meter() == Meter{3, 4});
  listener.settings.ownMeter = {4, 4};
  while (host.place < 7) hear();
  CHECK(listener.clock.meter() == Meter{4, 4});
  CHECK(listener.barNow() == Approx(6));
  CHECK(listener.anchors == 2);
}

TEST_CASE("six eighths: three quarters a bar, six beats in it", "[host_time]") {
  Host host;
  host.meter = {6, 8};
  Listener listener;
  while (host.place < 4) listener.hear(host);
  CHECK(listener.barNow() == Approx(3));
  CHECK(listener.clock.beatAt(quarters(3.7)) == quarters(3.5));
  CHECK(listener.anchors == 1);
}

TEST_CASE("a host that tells bars alone is followed to the block", "[host_time]") {
  for (const bool count : {false, true}) {
    INFO((count ? "by its count" : "by its bar starts"));
    Host host;
    host.place = 4;  // hidden from us
    Listener listener;
    listener.settings.ownTempo = 90;
    const auto hear = [&] {
      HostPosition said;
      said.quartersPerMinute = host.tempo;
      said.meter = host.meter;
      said.playing = host.playing;
      if (count)
        said.bar = static_cast<std::int64_t>(std::floor(host.place / 4));
      else
        said.barStart = std::floor(host.place / 4) * 4;
      listener.hear(said);
      host.roll(256);
    };
    while (host.place < 40) hear();
    CHECK(std::abs(listener.quartersNow() - host.place) <= 256 / 24000.0);
    CHECK(listener.anchors == 1);
    host.place = 81.5;
    hear();
    CHECK(listener.jumps == 1);
    while (host.place < 84.5) hear();
    CHECK(std::abs(listener.quartersNow() - host.place) <= 2 * 256 / 24000.0);
    host.playing = false;
    hear();
    CHECK_FALSE(listener.clock.playing());
  }
}

TEST_CASE("a host that tells bars and no tempo is followed from bar line to bar line", "[host_time]") {
  for (const double ownTempo : {60.0, 118.0, 124.0, 200.0}) {
    INFO("our own tempo " << ownTempo << ", the host's 120");
    Host host;
    Listener listener;
    listener.settings.ownTempo = ownTempo;
    double worst = 0;
    while (host.place < 80) {
      HostPosition said;
      said.playing = true;
      said.meter = host.meter;
      said.bar = static_cast<std::int64_t>(std::floor(host.place / 4));
      listener.hear(said);
      host.roll(256);
      if (host.place > 20) worst = std::max(worst, std::abs(listener.quartersNow() - host.place));
    }
    CHECK(worst < 0.1);
    CHECK(listener.anchors < 12);
  }
}

TEST_CASE("a host that moves but never says how fast is measured", "[host_time]") {
  Host host;
  host.tempo = 171;
  Listener listener;
  for (int block = 0; block < 2000; ++block) {
    auto said = host.says();
    said.quartersPerMinute = std::nullopt;
    listener.hear(said);
    host.roll(256);
  }
  CHECK(listener.anchors == 2);
  CHECK(listener.jumps == 0);
  CHECK(listener.quartersNow() == Approx(host.place).margin(1e-4));
}

TEST_CASE("what is no number, or absurd, is as good as not said", "[host_time]") {
  const auto infinite = std::numeric_limits<double>::infinity();
  Host host;
  Listener listener;
  for (int block = 0; block < 100; ++block) listener.hear(host);
  for (const double bad : {std::nan(""), infinite, -infinite, 1e300, -1e18}) {
    INFO(bad);
    auto said = host.says();
    said.quarters = bad;
    said.quartersPerMinute = bad;
    said.barStart = bad;
    said.meter = Meter{0, 3};
    said.bar = std::numeric_limits<std::int64_t>::min();
    for (int block = 0; block < 3; ++block) {
      listener.hear(said);
      host.roll(256);
    }
    CHECK(listener.anchors == 1);
    CHECK(listener.jumps == 0);
  }
  for (const double tempo : {0.0, -120.0, 4.9, 1001.0}) {
    auto said = host.says();
    said.quartersPerMinute = tempo;
    listener.hear(said);
    host.roll(256);
    CHECK(listener.anchors == 1);
  }
  listener.settings.source = TimeSource::own;
  listener.settings.ownTempo = std::nan("");
  listener.settings.ownMeter = {0, 0};
  listener.hear(host);
  listener.hear(host);
  CHECK(listener.clock.playing());
  CHECK(std::abs(listener.quartersNow() - host.place) < 0.01);
}

TEST_CASE("a block of no samples tells nothing, and forgets nothing", "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 10; ++block) listener.hear(host);
  host.playing = false;
  CHECK(!listener.hear(host.says(), 0));
  CHECK(!listener.hear(std::nullopt, 0));
  CHECK(listener.clock.playing());
  listener.hear(std::nullopt);
  CHECK_FALSE(listener.clock.playing());
}

TEST_CASE("blocks of any size, larger than before too, change nothing", "[host_time]") {
  Host host;
  Listener listener;
  for (int round = 0; round < 20; ++round)
    for (const std::int64_t length : {1, 7, 0, 64, 511, 8192, 8193, 100000}) listener.hear(host, length);
  CHECK(listener.anchors == 1);
  CHECK(listener.jumps == 0);
}

TEST_CASE("another sample rate: the host goes on from where it was", "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 1000; ++block) listener.hear(host);
  for (const double rate : {96000.0, 44100.0}) {
    host.rate = rate;
    listener.time.prepare(rate);
    listener.clock.reset(rate);
    listener.at = {};
    const double place = host.place;
    const auto first = listener.hear(std::nullopt);  // on change alone: nothing has changed
    host.roll(256);
    REQUIRE(first);
    CHECK(first->playing);
    CHECK(static_cast<double>(first->tick.value) == Approx(place * static_cast<double>(quarter.value)).margin(1));
    const int anchors = listener.anchors;
    for (int block = 0; block < 1000; ++block) listener.hear(host);
    CHECK(listener.anchors == anchors);
    CHECK(listener.jumps == 0);
  }
  listener.time.prepare(std::nan(""));
  listener.time.prepare(-1);
  const int anchors = listener.anchors;
  for (int block = 0; block < 100; ++block) listener.hear(host);
  CHECK(listener.anchors == anchors);
}

TEST_CASE("another sample rate: our own time begins on a first beat", "[host_time]") {
  Listener listener;
  for (int block = 0; block < 100; ++block) {
    listener.settings.ownTempo = 100 + block;
    listener.hear(std::nullopt);
  }
  listener.time.prepare(96000);
  listener.at = {};
  const auto first = listener.hear(std::nullopt);
  REQUIRE(first);
  CHECK(first->tick == Ticks{});
}

TEST_CASE("ten hours of a host that counts in short floats: no word more, no drift", "[host_time]") {
  test::Random random(3);
  const double rate = 44100, tempo = 117;
  Listener listener{rate};
  const std::int64_t length = 512, end = std::int64_t{36000} * 44100;
  const double quartersPerSample = tempo / 60 / rate;
  while (listener.at.value < end) {
    HostPosition said;
    // Up to 0.49 of a sample off, either way.
    const auto noise = listener.at.value == 0 ? 0.0 : static_cast<double>(random.between(-490, 490)) / 1000;
    said.quarters = (static_cast<double>(listener.at.value) + noise) * quartersPerSample;
    said.quartersPerMinute = tempo;
    said.playing = true;
    listener.hear(said, length);
  }
  CHECK(listener.anchors == 1);
  const double exact = static_cast<double>(listener.at.value) * quartersPerSample;
  CHECK(std::abs(listener.quartersNow() - exact) < quartersPerSample);
}

TEST_CASE("ten hours of a host whose tempo is rounded: mended sample by sample, no drift", "[host_time]") {
  const double rate = 48000, tempo = 117.3;
  Listener listener{rate};
  const double quartersPerSample = tempo / 60 / rate;
  double worst = 0;
  while (listener.at.value < std::int64_t{36000} * 48000) {
    HostPosition said;
    said.quarters = static_cast<double>(listener.at.value) * quartersPerSample;
    said.quartersPerMinute = tempo + 1e-6;
    said.playing = true;
    listener.hear(said, 512);
    worst =
        std::max(worst, std::abs(listener.quartersNow() - static_cast<double>(listener.at.value) * quartersPerSample));
  }
  CHECK(worst < 2.1 * quartersPerSample);
  CHECK(listener.anchors < 300);
  CHECK(listener.jumps == 0);
}

TEST_CASE("a file's tempo that came through a float is a whole number of microseconds again", "[host_time]") {
  // Standard MIDI Files 1.0: a tempo event counts microseconds a quarter. These are of files in presets/demo.
  for (const double microseconds : {576923, 535714, 833333, 714286, 500000, 999999}) {
    HostPosition said;
    said.quarters = 0;
    said.playing = true;
    said.quartersPerMinute = static_cast<float>(60e6 / microseconds);
    Listener listener;
    const auto anchor = listener.hear(said);
    REQUIRE(anchor);
    CHECK(anchor->quartersPerMinute == 60e6 / microseconds);
  }
}

TEST_CASE("a tempo that came through a float is the decimal that it stood for", "[host_time]") {
  for (const double tempo : {133.7, 66.6, 90.125, 61.803}) {
    Host host;
    host.tempo = tempo;
    Listener listener;
    auto said = host.says();
    said.quartersPerMinute = static_cast<float>(tempo);
    listener.hear(said);
    CHECK(listener.last->quartersPerMinute == tempo);
  }
}

// Ardour 7.3 tells its place so: seen as beats that wandered by 7 samples at 100 quarters a minute.
TEST_CASE("a host that counts in 1920ths of a quarter, rounded or cut off, moves no beat", "[host_time]") {
  for (const bool cutOff : {false, true}) {
    Listener listener;
    Host host;
    host.tempo = 100;
    for (int block = 0; block < 4000; ++block) {
      auto said = host.says();
      said.quarters = (cutOff ? std::floor(host.place * 1920 + 1e-9) : std::round(host.place * 1920)) / 1920;
      listener.hear(said, 256);
      host.roll(256);
    }
    INFO((cutOff ? "cut off" : "rounded"));
    CHECK(listener.anchors == 1);
    CHECK(listener.jumps == 0);
    CHECK(listener.clock.sampleOf(quarters(30)).value == 30 * 28800);
  }
}

TEST_CASE("our own tempo: another one keeps the place, another meter begins at the bar line", "[host_time]") {
  Listener listener;
  listener.settings.source = TimeSource::own;
  listener.settings.ownTempo = 120;
  Host host;  // rolls, and is not asked
  host.place = 50;
  for (int block = 0; block < 375; ++block) listener.hear(host);  // four quarters
  CHECK(listener.anchors == 1);
  listener.settings.ownTempo = 60;
  listener.hear(host);
  CHECK(listener.anchors == 2);
  CHECK(listener.clock.sampleOf(quarters(5)) == Samples{96000 + 48000});
  while (listener.quartersNow() < 8.1) listener.hear(host);
  listener.settings.ownMeter = {3, 4};
  while (listener.quartersNow() < 11.1) listener.hear(host);
  CHECK(listener.anchors == 3);
  CHECK(listener.barNow() == Approx(11));
  CHECK(listener.jumps == 0);
}

TEST_CASE("from the host to our own tempo nothing jumps, back again at most once", "[host_time]") {
  Host host;
  host.place = 20;
  Listener listener;
  listener.settings.ownTempo = 90;
  for (int block = 0; block < 100; ++block) listener.hear(host);
  listener.settings.source = TimeSource::own;
  listener.hear(host);
  CHECK(listener.change == ClockChange::moved);
  for (int block = 0; block < 300; ++block) listener.hear(host);
  CHECK(listener.anchors == 2);
  listener.settings.source = TimeSource::host;
  listener.hear(host);
  CHECK(listener.change == ClockChange::jumped);
  CHECK(listener.quartersNow() == Approx(host.place).margin(1e-4));
  for (int block = 0; block < 10; ++block) listener.hear(host);
  CHECK(listener.anchors == 3);
  CHECK(listener.jumps == 0);
}

TEST_CASE("who changes the source keeps the keys that are held, though the host leaps in that very block",
          "[host_time]") {
  Host host;
  Listener listener;
  for (int block = 0; block < 10; ++block) listener.hear(host);
  host.place = 100;
  listener.settings.source = TimeSource::own;
  listener.hear(host);
  host.place = 50;
  listener.hear(host);
  CHECK(listener.jumps == 0);
  listener.settings.source = TimeSource::host;
  host.place = 0;
  listener.hear(host);
  CHECK(listener.jumps == 0);
}

TEST_CASE("our own tempo taken while the host stands still begins on a first beat", "[host_time]") {
  Host host;
  host.playing = false;
  host.place = 6.3;
  Listener listener;
  for (int block = 0; block < 10; ++block) listener.hear(host);
  listener.settings.source = TimeSource::own;
  const auto start = listener.at;
  listener.hear(host);
  CHECK(listener.clock.playing());
  CHECK(listener.clock.sampleOf(quarters(4)) == start);
  listener.settings.source = TimeSource::host;
  listener.hear(host);
  CHECK_FALSE(listener.clock.playing());
}

TEST_CASE("the place is still followed while our own tempo plays", "[host_time]") {
  Host host;
  Listener listener;
  listener.settings.source = TimeSource::own;
  listener.hear(host);
  for (int block = 0; block < 99; ++block) {
    listener.hear(std::nullopt);
    host.roll(256);
  }
  listener.settings.source = TimeSource::host;
  listener.hear(std::nullopt);
  host.roll(256);
  CHECK(listener.quartersNow() == Approx(host.place).margin(1e-4));
}

TEST_CASE("while hands give the time nothing is told, and afterwards the host is where it has gone to", "[host_time]") {
  Host host;
  Listener listener;
  listener.settings.source = TimeSource::hands;
  for (int block = 0; block < 100; ++block) {
    if (block == 50) host.place = 33;
    listener.hear(host);
  }
  CHECK(listener.anchors == 0);
  CHECK(listener.jumps == 0);
  listener.settings.source = TimeSource::host;
  listener.hear(host);
  CHECK(listener.anchors == 1);
  CHECK(listener.quartersNow() == Approx(host.place).margin(1e-4));
}

TEST_CASE("our own tempo after the hands begins anew, whoever counted before", "[host_time]") {
  for (const bool before : {false, true}) {
    Listener listener;
    listener.settings.source = before ? TimeSource::own : TimeSource::hands;
    for (int block = 0; block < 10; ++block) listener.hear(std::nullopt);
    listener.settings.source = TimeSource::hands;
    for (int block = 0; block < 10; ++block) CHECK(!listener.hear(std::nullopt));
    listener.settings.source = TimeSource::own;
    const auto start = listener.at;
    const auto anchor = listener.hear(std::nullopt);
    REQUIRE(anchor);
    CHECK(anchor->playing);
    CHECK((anchor->tick - anchor->barStart).value % Meter{4, 4}.bar().value == 0);
    CHECK(listener.clock.barAt(listener.clock.tickAt(start)) == anchor->tick);
  }
}
