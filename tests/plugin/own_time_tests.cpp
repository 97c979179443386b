// Own time that waits for the first chord (the program at home). Keys of the clicks: General MIDI's percussion map, 76
// and 77 on channel 10. The rest: what the README promises.
#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "plugin/session.h"
#include "tests/catch.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;

/// One evening at home: nobody gives the time; a waltz at 120 quarters a minute, so that a bar is 72,000 samples.
class Evening {
 public:
  static constexpr std::int64_t bar = 72000, beat = 24000;
  explicit Evening(OwnTime wished = {.withFirstChord = true}) : session_(values_, signals_, handoff_, view_) {
    auto table = std::make_shared<SlotTable>();
    table->idioms[0] = &idiom("waltz");
    table->idioms[1] = &idiom("jazz-waltz");
    table->filled = 2;
    table->order[1] = 1;
    handoff_.publish(table.get(), table);
    values_.set(ParameterId::idiom, 0);
    values_.set(ParameterId::handSplit, 1);
    values_.set(ParameterId::outputChannels, 1);
    values_.set(ParameterId::time, 1);
    values_.set(ParameterId::ownTempo, 120);
    session_.setOwnTime(wished);
    session_.prepare(rate);
  }
  Session& session() { return session_; }
  ParameterValues& values() { return values_; }
  View view() const {
    View v;
    view_.read(v);
    return v;
  }
  void press(const std::string& names, std::int64_t offset = 0) { message(0x90, names, offset); }
  void release(const std::string& names) { message(0x80, names, 0); }
  void play(std::int64_t samples) {
    for (const auto until = now_ + samples; now_ < until;) {
      const MidiOut out{this, [](void* me, std::int64_t offset, std::span<const std::uint8_t> b) {
                          auto& e = *static_cast<Evening*>(me);
                          REQUIRE((e.heard.empty() || e.heard.back().at <= e.now_ + offset));
                          e.heard.push_back({e.now_ + offset, {b.begin(), b.end()}});
                        }};
      session_.begin(std::nullopt, block, false, out);
      for (const auto& w : waiting_) session_.message(w.at, w.bytes);
      waiting_.clear();
      session_.end();
      now_ += block;
    }
  }
  std::int64_t now() const { return now_; }
  struct Heard {
    std::int64_t at;
    std::vector<std::uint8_t> bytes;
  };
  /// When notes of ours began on this channel (1 to 16), from `from` on.
  std::vector<std::int64_t> began(int channel, std::int64_t from = 0) const {
    std::vector<std::int64_t> all;
    for (const auto& h : heard)
      if ((h.bytes[0] & 0xF0) == 0x90 && (h.bytes[0] & 0x0F) == channel - 1 && h.bytes[2] > 0 && h.at >= from)
        all.push_back(h.at);
    return all;
  }
  std::vector<Heard> heard;

 private:
  static constexpr std::int64_t block = 500;
  void message(std::uint8_t kind, const std::string& names, std::int64_t offset) {
    for (const auto k : keys(names)) waiting_.push_back({offset, {kind, k.value, 70}});
  }
  ParameterValues values_;
  SignalMap signals_;
  Handoff<SlotTable> handoff_;
  ViewBox view_;
  Session session_;
  std::vector<Heard> waiting_;
  std::int64_t now_ = 0;
};
constexpr int bass = 2, chords = 3, clicks = 10;

}  // namespace

TEST_CASE("the first chord starts the music: its bass falls on the finger, the chords on two and three") {
  Evening e;
  e.play(31000);
  CHECK_FALSE(e.view().playing);
  e.press("C3 E3 G3", 123);
  e.play(2 * Evening::bar);
  CHECK(e.view().playing);
  CHECK(e.view().meter == Meter{3, 4});
  const std::int64_t one = 31123;
  const auto low = e.began(bass);
  REQUIRE(low.size() >= 2);
  CHECK(std::abs(low[0] - one) <= 1);
  CHECK(std::abs(low[1] - (one + Evening::bar)) <= 1);
  const auto upper = e.began(chords);
  REQUIRE_FALSE(upper.empty());
  CHECK(std::abs(upper[0] - (one + Evening::beat)) <= 1);
}

TEST_CASE("a tune alone starts nothing") {
  Evening e;
  e.press("E5");
  e.play(2 * Evening::bar);
  CHECK_FALSE(e.view().playing);
  CHECK(e.began(bass).empty());
}

TEST_CASE("a chord that is held above the split starts it too, when hands are told apart by listening") {
  Evening e;
  e.values().set(ParameterId::handSplit, 0);
  e.play(1000);
  e.press("D4 F4 A4");
  e.play(Evening::bar);
  CHECK(e.view().playing);
}

TEST_CASE("a bar of clicks is counted first, if it is wished") {
  Evening e({.withFirstChord = true, .countIn = true});
  e.play(1000);
  e.press("C3 E3 G3");
  e.play(2 * Evening::bar);
  const auto counted = e.began(clicks);
  REQUIRE(counted.size() == 3);
  for (std::int64_t i = 0; i < 3; ++i)
    CHECK(std::abs(counted[static_cast<std::size_t>(i)] - (1000 + i * Evening::beat)) <= 1);
  for (const auto& h : e.heard)
    if (h.at == counted[0] && h.bytes[0] == 0x99) CHECK(h.bytes[1] == 76);
  const auto low = e.began(bass);
  REQUIRE_FALSE(low.empty());
  CHECK(std::abs(low[0] - (1000 + Evening::bar)) <= 1);
  int open = 0;
  for (const auto& h : e.heard) open += h.bytes[0] == 0x99 ? 1 : h.bytes[0] == 0x89 ? -1 : 0;
  CHECK(open == 0);
}

TEST_CASE("a bar after the last key it stands, and the next chord begins a bar") {
  Evening e;
  e.press("C3 E3 G3");
  e.play(Evening::bar + 5000);
  e.release("C3 E3 G3");
  e.play(3 * Evening::bar);
  CHECK_FALSE(e.view().playing);
  e.play(777 * 500);
  const auto from = e.now();
  e.press("C3 F3 A3");
  e.play(500);
  const auto bar = Meter{3, 4}.bar().value;
  CHECK(e.view().playing);
  CHECK(e.view().tick.value / bar == 3);  // two were played and rested in, and the one that was begun is over
  CHECK(e.view().tick.value % bar <= bar / 100);
  e.play(Evening::bar);
  const auto low = e.began(bass, from);
  REQUIRE_FALSE(low.empty());
  CHECK(std::abs(low[0] - from) <= 1);
}

TEST_CASE("a hand that changes its chord does not stop it, however late in the bar") {
  Evening e;
  e.press("C3 E3 G3");
  e.play(Evening::bar);
  e.release("C3 E3 G3");
  e.play(30000);
  e.press("B2 F3 G3");
  e.play(Evening::bar);
  CHECK(e.view().playing);
  CHECK(e.view().barStart.value >= Meter{3, 4}.bar().value);
}

TEST_CASE("End closes, and then it stands though the chord is held; silence all stands at once") {
  Evening e;
  e.press("C3 E3 G3");
  e.play(Evening::bar);
  e.session().give(Signal::end);
  e.play(8 * Evening::bar);
  CHECK_FALSE(e.view().playing);
  const auto rest = e.now();
  e.play(Evening::bar);
  CHECK(e.began(bass, rest).empty());
  e.release("C3 E3 G3");
  e.press("G2 B2 D3");
  e.play(Evening::bar / 2);
  CHECK(e.view().playing);
  e.session().give(Signal::silenceAll);
  e.play(1000);
  CHECK_FALSE(e.view().playing);
}

TEST_CASE("slowed to a third, everything is three times as long, and the swing ratio is the same") {
  const auto swung = [](int pace) {
    Evening e({.withFirstChord = true, .pace = pace});
    e.values().set(ParameterId::idiom, 1);
    e.values().set(ParameterId::density, 2);
    e.values().set(ParameterId::ownTempo, 150);
    e.play(1000);
    e.press("C3 E3 G3");
    e.play(Evening::bar * 40);
    auto all = e.began(chords);
    const auto low = e.began(bass);
    all.insert(all.end(), low.begin(), low.end());
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    return all;
  };
  const auto usual = swung(100), slow = swung(33);
  REQUIRE(usual.size() > 6);
  REQUIRE(slow.size() > 6);
  for (std::size_t i = 1; i < 6; ++i) {
    const double at = static_cast<double>(usual[i] - usual[0]), later = static_cast<double>(slow[i] - slow[0]);
    CHECK(later / at == Approx(1 / 0.33).epsilon(0.001));
  }
}

TEST_CASE("own time that does not wait runs, as in a host that gives none") {
  Evening e(OwnTime{});
  e.play(Evening::bar);
  CHECK(e.view().playing);
}
