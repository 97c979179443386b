// One instance from the host's side: what is mapped, what is chosen, what is owed. Program change and channel mode
// messages: MIDI 1.0 (C0 n; CC 120 all sound off, CC 123 all notes off). The rest: the contracts of the design.
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

struct Heard {
  std::int64_t sample;
  std::vector<std::uint8_t> bytes;
};

std::string said(const std::vector<std::uint8_t>& b) {
  const auto kind = b[0] & 0xF0;
  std::string text;
  if (kind == 0x90 && b[2] > 0)
    text = "+" + keyName({b[1]});
  else if (kind == 0x80 || kind == 0x90)
    text = "-" + keyName({b[1]});
  else
    for (const auto byte : b) text += (text.empty() ? "" : ".") + std::to_string(byte);
  return (b[0] & 0x0F) == 0 ? text : text + "/" + std::to_string((b[0] & 0x0F) + 1);
}

/// A host with one instance: blocks of 512, at 120 quarters a minute in four, unless told otherwise.
class Host {
 public:
  Host() : session_(values_, signals_, handoff_, view_) {
    auto table = std::make_shared<SlotTable>();
    table->idioms[0] = &idiom("held-chords");
    table->idioms[1] = &idiom("waltz");
    table->idioms[3] = &idiom("rocking-bass");
    table->idioms[5] = &idiom("swing-two-feel");  // on no list
    for (const std::uint8_t slot : {std::uint8_t{0}, std::uint8_t{1}, std::uint8_t{3}})
      table->order[table->filled++] = slot;
    handoff_.publish(table.get(), table);
    values_.set(ParameterId::idiom, 3);
    values_.set(ParameterId::outputChannels, 1);  // one a part
    prepare(48000);
  }
  void prepare(double rate) {
    rate_ = rate;
    session_.prepare(rate);
  }
  ParameterValues& values() { return values_; }
  SignalMap& signals() { return signals_; }
  Session& session() { return session_; }
  View view() const {
    View v;
    view_.read(v);
    return v;
  }
  bool playing = true;
  bool bypassed = false;
  std::int64_t blockSize = 512;

  void message(std::vector<std::uint8_t> bytes) { waiting_.push_back({now_, std::move(bytes)}); }
  void press(const std::string& names) {
    for (const auto k : keys(names)) message({0x90, k.value, 70});
  }
  void release(const std::string& names) {
    for (const auto k : keys(names)) message({0x80, k.value, 64});
  }
  void block() {
    HostPosition p;
    p.quarters = quarters_;
    p.quartersPerMinute = 120;
    p.meter = Meter{4, 4};
    p.playing = playing;
    const MidiOut out{this, [](void* me, std::int64_t offset, std::span<const std::uint8_t> bytes) {
                        auto& host = *static_cast<Host*>(me);
                        host.heard.push_back({host.now_ + offset, {bytes.begin(), bytes.end()}});
                      }};
    session_.begin(p, blockSize, bypassed, out);
    for (const auto& w : waiting_) session_.message(w.sample - now_, w.bytes);
    session_.end();
    waiting_.clear();
    now_ += blockSize;
    if (playing) quarters_ += static_cast<double>(blockSize) / rate_ * 2;
  }
  void run(double seconds) {
    for (auto left = static_cast<std::int64_t>(seconds * rate_ / static_cast<double>(blockSize)); left > 0; --left)
      block();
  }
  /// What was heard since the last time, in words.
  std::string said() {
    std::string text;
    for (const auto& h : heard) text += (text.empty() ? "" : " ") + ::said(h.bytes);
    heard.clear();
    return text;
  }
  /// Keys that are open now, all channels.
  int open() const {
    std::array<std::array<int, 128>, 16> down{};
    for (const auto& h : all_) apply(down, h);
    for (const auto& h : heard) apply(down, h);
    int count = 0;
    for (const auto& c : down)
      for (const int d : c) count += d;
    return count;
  }
  void keepAll() {
    all_.insert(all_.end(), heard.begin(), heard.end());
    heard.clear();
  }
  std::vector<Heard> heard;

 private:
  static void apply(std::array<std::array<int, 128>, 16>& down, const Heard& h) {
    const auto kind = h.bytes[0] & 0xF0;
    if (kind == 0x90 && h.bytes[2] > 0)
      down[h.bytes[0] & 0x0F][h.bytes[1]] = 1;
    else if (kind == 0x80 || kind == 0x90)
      down[h.bytes[0] & 0x0F][h.bytes[1]] = 0;
  }
  double rate_ = 48000;
  double quarters_ = 0;
  std::int64_t now_ = 0;
  ParameterValues values_;
  SignalMap signals_;
  Handoff<SlotTable> handoff_;
  ViewBox view_;
  Session session_;
  std::vector<Heard> waiting_, all_;
};

}  // namespace

TEST_CASE("A chord held in a rolling host is heard in its idiom, and its view says so", "[session]") {
  Host host;
  host.press("C3 E3 G3");
  host.run(0.4);
  CHECK(host.said() == "+C2/2 +G2/2");
  const auto view = host.view();
  CHECK(view.hasChord);
  CHECK(view.chord.root.value == 0);
  CHECK(view.held.count() == 3);
  CHECK(view.ours.count() == 2);
  CHECK(view.playing);
  CHECK(view.meter == Meter{4, 4});
}

TEST_CASE("A melody that is transposed ends on the key on which it began", "[session][map]") {
  Host host;
  host.values().set(ParameterId::transpose, 2);
  host.block();
  host.said();
  host.press("E5");
  host.block();
  host.values().set(ParameterId::transpose, -3);
  host.block();
  host.release("E5");
  host.block();
  CHECK(host.said() == "+F#5 -F#5");
}

TEST_CASE("The student plays in C, the singer hears B flat", "[session][map]") {
  Host host;
  host.values().set(ParameterId::handSplit, 1);  // by key
  host.values().set(ParameterId::transpose, -2);
  host.press("C3 E3 G3 C4");  // C4 is still the tune: the hand split goes with the keys
  host.run(0.4);
  CHECK(host.said() == "+Bb3 +Bb1/2 +F2/2");
  CHECK(host.view().chord.root.value == 10);
}

TEST_CASE("Percussion that nobody reads is not transposed", "[session][map]") {
  Host host;
  host.values().set(ParameterId::transpose, 5);
  host.message({0x99, 36, 100});
  host.message({0x89, 36, 0});
  host.block();
  CHECK(host.said() == "+C2/10 -C2/10");
}

TEST_CASE("A key at the keyboard's end that is moved off it comes back by an octave", "[session][map]") {
  Host host;
  host.values().set(ParameterId::transpose, 12);
  host.press("G9");
  host.release("G9");
  host.block();
  CHECK(host.said() == "+G9 -G9");
}

TEST_CASE("A program change chooses the idiom and is not passed on; an empty slot changes nothing", "[session]") {
  Host host;
  host.block();
  host.message({0xC0, 0});
  host.block();
  CHECK(host.session().slot() == 0);
  host.message({0xC0, 77});
  host.block();
  CHECK(host.session().slot() == 0);
  CHECK(host.said().empty());
  host.message({0xC9, 3});  // percussion's channel is not ours
  host.block();
  CHECK(host.said() == "201.3/10");
  CHECK(host.session().slot() == 0);
}

TEST_CASE("Next and previous go round the slots that are filled", "[session][signals]") {
  Host host;
  host.block();
  for (const int expected : {0, 1, 3, 0}) {
    host.session().give(Signal::next);
    host.block();
    CHECK(host.session().slot() == expected);
  }
  host.session().give(Signal::previous);
  host.block();
  CHECK(host.session().slot() == 3);
}

TEST_CASE("A pedal that was given the signal holds the chord, and is not passed on", "[session][signals]") {
  Host host;
  host.signals().set(Signal::hold, {GiverKind::controller, 0, 67});
  host.press("C3 E3 G3");
  host.run(0.4);
  host.said();
  host.message({0xB0, 67, 127});
  host.run(4);
  const auto text = host.said();
  CHECK(text.find("67") == std::string::npos);
  CHECK(text.find("+A2/2") == std::string::npos);  // the figure's root and sixth do not come any more
  CHECK(host.view().holding);
  host.session().give(Signal::goOn);
  host.run(1);
  CHECK(!host.view().holding);
}

TEST_CASE("A pedal that was given Round keeps the chords going, and the view says which comes and when it begins again",
          "[session][signals][round]") {
  Host host;
  host.signals().set(Signal::round, {GiverKind::controller, 0, 66});
  for (const char* chord : {"C3 E3 G3", "F3 A3 C4"}) {
    host.press(chord);
    host.run(1.9);
    if (chord[0] == 'F') host.message({0xB0, 66, 127});
    host.release(chord);
    host.run(0.1);
  }
  host.run(1);
  host.said();
  CHECK(host.view().round);
  CHECK(host.view().roundBegins == quarters(16));
  REQUIRE(host.view().expects);
  CHECK(host.view().expected.root == PitchClass{5});
  CHECK(host.view().expectedAt == quarters(12));
  host.run(4);
  CHECK(host.view().hasChord);
  CHECK(host.said().find("+F") != std::string::npos);
  host.message({0xB0, 66, 0});
  host.session().give(Signal::round);  // again: it lets go
  host.run(1);
  host.said();
  host.run(4);
  CHECK(!host.view().round);
  CHECK(!host.view().hasChord);
  CHECK(host.said() == "");
}

TEST_CASE("A pedal that was given Turnaround brings the way back at the next bar line, and is not passed on",
          "[session][signals]") {
  // I-vi-ii-V, two beats each: common practice, as in tests/shelf/cadence_tests.cpp. Channel 3 is this bass's.
  Host host;
  host.signals().set(Signal::turnaround, {GiverKind::controller, 0, 66});
  host.values().set(ParameterId::idiom, 5);
  host.press("C3 E3 G3");
  host.run(3);
  CHECK(host.said().find("+A") == std::string::npos);
  host.message({0xB0, 66, 127});
  host.run(4.5);
  const auto text = host.said();
  CHECK(text.find("66") == std::string::npos);
  std::string bass;
  for (std::size_t at = text.find('+'); at != std::string::npos; at = text.find('+', at + 1))
    if (const auto word = text.substr(at, text.find(' ', at) - at); word.ends_with("/3")) bass += word[1];
  INFO(text);
  CHECK(bass.find("CADG") != std::string::npos);
}

TEST_CASE("Tag from the screen: the last four bars are expected once more, and then it closes", "[session][signals]") {
  Host host;
  for (const char* chord : {"C3 E3 G3", "F3 A3 C4", "G3 B3 D4", "C3 E3 G3"}) {
    host.press(chord);
    host.run(1.9);
    CHECK(!host.view().expects);
    if (chord[0] == 'C') host.session().give(host.view().bar > 2 ? Signal::tag : Signal::goOn);
    host.release(chord);
    host.run(0.1);
  }
  host.press("C3 E3 G3");
  host.run(1);
  REQUIRE(host.view().expects);
  CHECK(host.view().expected.root == PitchClass{5});
  host.run(9);
  host.said();
  CHECK(host.view().ours.empty());  // closed, though the chord is held
}

TEST_CASE("Where nobody knows what comes, nothing is expected", "[session][round]") {
  Host host;
  host.press("C3 E3 G3");
  host.run(3);
  CHECK(host.view().hasChord);
  CHECK(!host.view().expects);
}

TEST_CASE("All notes off ends ours", "[session]") {
  for (const std::uint8_t controller : {std::uint8_t{120}, std::uint8_t{123}}) {
    Host host;
    host.press("C3 E3 G3");
    host.run(0.3);
    host.message({0xB0, controller, 0});
    host.run(0.2);
    CHECK(host.open() == 0);
  }
}

TEST_CASE("What sounds when a host prepares anew is ended in the first block after it", "[session]") {
  Host host;
  host.press("C3 E3 G3 E5");
  host.run(0.3);
  REQUIRE(host.open() == 3);
  host.keepAll();
  host.prepare(96000);
  host.block();
  CHECK(host.open() == 0);
  for (const auto& h : host.heard) CHECK((h.bytes[0] & 0xF0) != 0x90);
}

TEST_CASE("A session plays on after a host has prepared it anew", "[session]") {
  Host host;
  host.press("C3 E3 G3");
  host.run(0.3);
  host.prepare(44100);
  host.said();
  host.release("C3 E3 G3");
  host.block();
  host.said();
  host.press("F3 A3 C3");
  host.run(1);
  CHECK(host.said().find("+F") != std::string::npos);
}

TEST_CASE("A long message passes whole", "[session]") {
  Host host;
  std::vector<std::uint8_t> sysex{0xF0};
  for (int i = 0; i < 300; ++i) sysex.push_back(static_cast<std::uint8_t>(i & 0x7F));
  sysex.push_back(0xF7);
  host.message(sysex);
  host.block();
  REQUIRE(host.heard.size() == 1);
  CHECK(host.heard[0].bytes == sysex);
}

TEST_CASE("Ten thousand events in a block come out in their order, each at its place", "[session]") {
  Host host;
  host.blockSize = 8192;
  for (int i = 0; i < 10000; ++i) host.message({0xB0, 1, static_cast<std::uint8_t>(i & 0x7F)});
  host.block();
  REQUIRE(host.heard.size() == 10000);
  bool inOrder = true;
  for (std::size_t i = 0; i < 10000; ++i) inOrder = inOrder && host.heard[i].bytes[2] == (i & 0x7F);
  CHECK(inOrder);
}

TEST_CASE("A block of no samples takes its messages, and the next one is none the worse", "[session]") {
  Host host;
  host.block();
  host.blockSize = 0;
  host.press("C3 E3 G3 E5");
  host.block();
  host.blockSize = 512;
  host.run(0.3);
  CHECK(host.said() == "+E5 +C2/2 +G2/2");
}

TEST_CASE("Switched off while it plays and on again, nothing hangs", "[session][bypass]") {
  Host host;
  host.press("C3 E3 G3");
  host.run(0.3);
  host.bypassed = true;
  host.run(0.5);
  CHECK(host.open() == 0);  // the hand's keys were struck before: they do not sound
  host.release("C3 E3 G3");
  host.press("F3 A3");
  host.run(0.5);
  CHECK(host.open() == 2);  // the plain keys, passed
  host.bypassed = false;
  host.run(1.0);
  host.release("F3 A3");
  host.run(3.0);
  CHECK(host.open() == 0);
}

TEST_CASE("Without any word from the host the own tempo plays", "[session][time]") {
  Host host;
  host.values().set(ParameterId::time, 1);
  host.values().set(ParameterId::ownTempo, 120);
  host.playing = false;
  host.press("C3 E3 G3");
  host.run(2.2);
  const auto text = host.said();
  CHECK(text.find("+A2/2") != std::string::npos);
}
