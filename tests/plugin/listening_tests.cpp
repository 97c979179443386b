// A session that listens: which hand plays a note, and what beat the hands give. What it plays is what the engine alone
// plays of the same stamped inputs, whatever blocks the host cuts; what it shows is what was heard in the end. Settings
// are written out here, not taken from the plugin's own table.
#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "plugin/session.h"
#include "tests/catch.h"
#include "tests/performances/two_hands.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Heard {
  std::int64_t sample = 0;
  std::vector<std::uint8_t> bytes;
  friend bool operator==(const Heard&, const Heard&) = default;
};

std::string firstDifference(const std::vector<Heard>& expected, const std::vector<Heard>& came) {
  const auto text = [](const std::vector<Heard>& all, std::size_t i) {
    if (i >= all.size()) return std::string("nothing");
    std::string said;
    for (const auto byte : all[i].bytes) said += std::to_string(byte) + " ";
    return said + "at " + std::to_string(all[i].sample);
  };
  for (std::size_t i = 0; i < std::max(expected.size(), came.size()); ++i)
    if (i >= expected.size() || i >= came.size() || !(expected[i] == came[i]))
      return "event " + std::to_string(i) + ": expected " + text(expected, i) + ", came " + text(came, i);
  return "";
}

/// A transport at one tempo; tests change its meter.
struct Transport {
  double quartersPerMinute = 120;
  Meter meter{4, 4};
  double barStart = 0;
  double quarters = 0;
  std::optional<std::int64_t> bar;
  bool playing = true;
};

/// One instance in a host.
class Seat {
 public:
  explicit Seat(double rate = 48000) : rate_(rate), session_(values_, signals_, handoff_, view_) {
    auto table = std::make_shared<SlotTable>();
    for (const auto* id : {"held-chords", "waltz", "broken-bass", "rocking-bass"}) {
      table->order[table->filled] = static_cast<std::uint8_t>(table->filled);
      table->idioms[table->filled++] = &idiom(id);
    }
    handoff_.publish(table.get(), table);
    values_.set(ParameterId::outputChannels, 1);  // one a part
    session_.prepare(rate);
  }
  ParameterValues& values() { return values_; }
  Session& session() { return session_; }
  View view() const {
    View v;
    view_.read(v);
    return v;
  }
  Transport transport;
  std::vector<Heard> heard;
  std::int64_t now() const { return now_; }

  void give(const std::vector<Input>& notes) {
    notes_ = notes;
    next_ = 0;
  }
  void block(std::int64_t n) {
    HostPosition p;
    p.quarters = transport.quarters;
    p.quartersPerMinute = transport.quartersPerMinute;
    p.meter = transport.meter;
    p.barStart = transport.barStart;
    p.bar = transport.bar;
    p.playing = transport.playing;
    const MidiOut out{this, [](void* me, std::int64_t offset, std::span<const std::uint8_t> bytes) {
                        auto& seat = *static_cast<Seat*>(me);
                        seat.heard.push_back({seat.now_ + offset, {bytes.begin(), bytes.end()}});
                      }};
    session_.begin(p, n, false, out);
    for (; next_ < notes_.size() && notes_[next_].sample.value < now_ + n; ++next_)
      session_.message(notes_[next_].sample.value - now_, {notes_[next_].midi.bytes.data(), notes_[next_].midi.length});
    session_.end();
    now_ += n;
    if (transport.playing) transport.quarters += static_cast<double>(n) * transport.quartersPerMinute / 60 / rate_;
    const double bar = static_cast<double>(transport.meter.bar().value) / static_cast<double>(quarter.value);
    while (transport.quarters - transport.barStart >= bar - 1e-9) {
      transport.barStart += bar;
      if (transport.bar) ++*transport.bar;
    }
  }
  void until(std::int64_t end, std::int64_t size) {
    while (now_ < end) block(std::min(size, end - now_));
  }

 private:
  double rate_;
  ParameterValues values_;
  SignalMap signals_;
  Handoff<SlotTable> handoff_;
  ViewBox view_;
  Session session_;
  std::vector<Input> notes_;
  std::size_t next_ = 0;
  std::int64_t now_ = 0;
};

Samples at(double seconds, double rate) { return {std::llround(seconds * rate)}; }

std::vector<Input> messagesOf(const TwoHands& hands, double rate) {
  std::vector<Input> all;
  const auto add = [&](double seconds, int status, int a, int b) {
    MidiMessage m;
    m.bytes = {static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(a), static_cast<std::uint8_t>(b)};
    m.length = 3;
    all.push_back(Input::of(at(seconds, rate), m));
  };
  for (const auto& n : hands.notes) {
    add(n.on, 0x90, n.key, n.velocity);
    add(n.off, 0x80, n.key, 64);
  }
  for (const auto& p : hands.pedal) add(p.at, 0xB0, 64, p.down ? 127 : 0);
  std::stable_sort(all.begin(), all.end(), [](const Input& a, const Input& b) { return a.sample < b.sample; });
  return all;
}

/// As the parameters stand untouched, but a channel a part.
Settings listening(const Idiom& plays) {
  Settings s;
  s.handRule = HandRule::automatic;
  for (std::size_t i = 0; i < s.outputChannel.size(); ++i) {
    const bool percussion = i < plays.parts.size() && plays.parts[i].kind == PartKind::percussion;
    s.outputChannel[i] = static_cast<std::uint8_t>(percussion ? 9 : i + 1);
  }
  return s;
}

struct Alone {
  std::vector<Heard> heard;
  std::vector<HeardFact> facts;
};

/// The engine by itself, in one call.
Alone alone(const std::vector<Input>& notes, const Settings& settings, const Idiom& asked, const TimeAnchor& anchor,
            double rate, std::int64_t end) {
  std::vector<Input> inputs{Input::of({}, anchor), Input::of({}, settings), Input::of({}, IdiomRef{&asked, 1})};
  inputs.insert(inputs.end(), notes.begin(), notes.end());
  const auto rendering = renderInBlocks(inputs, {}, rate, Samples{end}, false);
  Alone result;
  for (const auto& e : rendering.events) result.heard.push_back({e.sample.value, {e.bytes.begin(), e.bytes.end()}});
  result.facts = rendering.facts;
  return result;
}

TimeAnchor anchorOf(const Transport& t) {
  TimeAnchor anchor;
  anchor.quartersPerMinute = t.quartersPerMinute;
  anchor.meter = t.meter;
  anchor.barStart = quarters(t.barStart);
  return anchor;
}

constexpr std::int64_t sizes[] = {37, 64, 441, 1024, 4096};

/// A chord a bar and a tune on each beat, so many seconds a beat.
std::vector<Input> steadyBars(int bars, int beats, double from, double beat, double rate) {
  TwoHands hands;
  for (int b = 0; b < bars; ++b) {
    const double bar = from + b * beats * beat;
    for (const auto k : keys(b % 2 == 0 ? "C3 E3 G3" : "B2 F3 G3"))
      hands.notes.push_back({bar, bar + (beats - 0.3) * beat, k.value, 64, Hand::chord});
    for (int k = 0; k < beats; ++k)
      hands.notes.push_back({bar + k * beat, bar + (k + 0.9) * beat, 72 + 2 * ((b + k) % 4), 80, Hand::melody});
  }
  return messagesOf(hands, rate);
}

}  // namespace

TEST_CASE("Untouched, a session tells the hands apart by listening, as the engine alone does, in blocks of any size",
          "[session][listening]") {
  int withdrawn = 0, late = 0;
  for (const auto group : {Group::close, Group::dipping, Group::pedal}) {
    for (const std::uint64_t seed : {3u, 4u, 5u}) {
      const auto played = performanceOf(group, Half::report, seed);
      for (const double rate : {44100.0, 96000.0}) {
        const auto notes = messagesOf(played, rate);
        const std::int64_t end = std::min(at(played.end, rate).value, at(40, rate).value);
        Seat first(rate);
        first.transport.meter = played.meter;
        first.transport.quartersPerMinute = played.quartersPerMinute;
        first.transport.barStart = played.pickup - static_cast<double>(played.meter.bar().value) / quarter.value;
        const auto transport = first.transport;
        const auto& plays = idiom("held-chords");
        const auto expected = alone(notes, listening(plays), plays, anchorOf(transport), rate, end);
        for (const auto& f : expected.facts) {
          withdrawn += f.fact.kind == FactKind::hand && f.fact.status == FactStatus::withdrawn ? 1 : 0;
          late += f.fact.kind == FactKind::hand && f.fact.handReason == HandReason::wasTune ? 1 : 0;
        }
        for (const auto size : sizes) {
          INFO(groupName(group) << ", " << played.tune << ", " << rate << " Hz, blocks of " << size);
          Seat seat(rate);
          seat.transport = transport;
          seat.values().set(ParameterId::idiom, 0);
          seat.give(notes);
          seat.until(end, size);
          CHECK(firstDifference(expected.heard, seat.heard) == "");
        }
      }
    }
  }
  CHECK(withdrawn > 0);  // else nothing was in doubt
  CHECK(late > 0);
}

TEST_CASE("With time from the hands a session plays what the engine alone plays, in blocks of any size",
          "[session][listening]") {
  for (const auto* id : {"waltz", "held-chords"})
    for (const std::uint64_t seed : {2u, 6u}) {
      const double rate = 48000;
      auto played = performanceOf(Group::rubato, Half::report, seed);
      const auto notes = messagesOf(played, rate);
      const std::int64_t end = std::min(at(played.end + 5, rate).value, at(60, rate).value);
      const auto& asked = idiom(id);
      auto settings = listening(asked);
      settings.follow.on = true;
      settings.follow.guessMeter = asked.anyMeter;
      settings.follow.meter = asked.anyMeter ? Meter{4, 4} : asked.meter;
      settings.follow.tempo = 110;
      const auto expected = alone(notes, settings, asked, {}, rate, end);
      const auto beats = std::count_if(expected.facts.begin(), expected.facts.end(), [](const HeardFact& f) {
        return f.fact.kind == FactKind::beat && f.fact.status == FactStatus::final;
      });
      CHECK(beats > 20);
      for (const auto size : sizes) {
        INFO(id << ", " << played.tune << ", blocks of " << size);
        Seat seat(rate);
        seat.transport.quartersPerMinute = 61;  // a host that rolls all the while, and is not asked
        seat.values().set(ParameterId::idiom, asked.anyMeter ? 0 : 1);
        seat.values().set(ParameterId::time, 2);
        seat.values().set(ParameterId::ownTempo, 110);
        seat.give(notes);
        seat.until(end, size);
        CHECK(firstDifference(expected.heard, seat.heard) == "");
      }
    }
}

namespace {

/// Plays generated hands of a group until three revised hand facts that `fits` names have been seen on the screen: the
/// key with one hand at `from` (of the fact, and of the note's first), and with the other once the fact is known.
int revisionsSeen(Group group, std::uint64_t seeds, bool (*fits)(const Fact&), Hand before,
                  Samples (*from)(const Fact& revised, const Fact& first)) {
  const double rate = 48000;
  const std::int64_t size = 32;
  int seen = 0;
  for (std::uint64_t seed = 1; seed < seeds && seen < 3; ++seed) {
    const auto played = performanceOf(group, Half::report, seed);
    const auto notes = messagesOf(played, rate);
    const auto& plays = idiom("held-chords");
    const auto expected = alone(notes, listening(plays), plays, anchorOf({}), rate, at(played.end, rate).value);
    Seat seat(rate);
    seat.values().set(ParameterId::idiom, 0);
    seat.give(notes);
    const auto shownAs = [&](Hand hand, NoteNumber note) {
      const View view = seat.view();
      const bool chord = hand == Hand::chord;
      return (chord ? view.held : view.tune).has(note) && !(chord ? view.tune : view.held).has(note);
    };
    for (const auto& revised : expected.facts) {
      const auto& f = revised.fact;
      if (f.kind != FactKind::hand || !fits(f)) continue;
      const auto first = std::find_if(expected.facts.begin(), expected.facts.end(), [&](const HeardFact& h) {
        return h.fact.kind == FactKind::hand && h.fact.id == f.id && h.fact.revision == 0;
      });
      const Samples looked = from(f, first->fact);
      if (f.sample - looked < Samples{size} || looked.value < seat.now() + 2 * size) continue;
      INFO(played.tune << " at " << f.sample.value);
      seat.until(looked.value, size);
      CHECK(shownAs(before, f.note));
      seat.until(f.sample.value + size, size);
      CHECK(shownAs(before == Hand::chord ? Hand::melody : Hand::chord, f.note));
      ++seen;
    }
  }
  return seen;
}

}  // namespace

TEST_CASE("A note that was lent to the tune and taken back is shown as the chord's from then on",
          "[session][listening][view]") {
  CHECK(revisionsSeen(
            Group::close, 12, [](const Fact& f) { return f.status == FactStatus::withdrawn; }, Hand::melody,
            [](const Fact&, const Fact& first) { return first.sample + Samples{32}; }) >= 3);
}

TEST_CASE("A note that was taken for the chord's and turns out to be the tune's is shown as the tune's from then on",
          "[session][listening][view]") {
  CHECK(revisionsSeen(
            Group::dipping, 40, [](const Fact& f) { return f.revision > 0 && f.handReason == HandReason::wasTune; },
            Hand::chord, [](const Fact& revised, const Fact&) { return revised.sample - Samples{32}; }) >= 3);
}

TEST_CASE("Keys that were struck and let go within one block are shown no more, nor is any when all are up",
          "[session][listening][view]") {
  const double rate = 48000;
  for (const auto group : {Group::close, Group::dipping, Group::slips}) {
    const auto played = performanceOf(group, Half::report, 7);
    const auto notes = messagesOf(played, rate);
    Seat seat(rate);
    seat.give(notes);
    seat.until(notes.back().sample.value + 48000, 16384);
    CHECK(seat.view().held.empty());
    CHECK(seat.view().tune.empty());
    CHECK(seat.view().ours.empty());
  }
}

TEST_CASE("While hands are followed the view has their tempo, beat and bar", "[session][listening][view]") {
  const double rate = 48000, beat = 60.0 / 84;
  const int bars = 14, beats = 3;
  const double from = 1.3;
  Seat seat(rate);
  seat.transport.playing = false;
  seat.values().set(ParameterId::idiom, 1);  // a waltz
  seat.values().set(ParameterId::time, 2);
  seat.give(steadyBars(bars, beats, from, beat, rate));
  seat.until(at(from + 0.4 * beat, rate).value, 256);
  CHECK_FALSE(seat.view().playing);  // one stroke is no beat yet
  CHECK(seat.view().meter == Meter{3, 4});
  for (int b = 4; b < bars; ++b)
    for (int k = 0; k < beats; ++k) {
      seat.until(at(from + (b * beats + k + 0.5) * beat, rate).value, 256);
      const auto view = seat.view();
      INFO("bar " << b + 1 << ", beat " << k + 1);
      CHECK(view.playing);
      CHECK(view.meter == Meter{3, 4});
      CHECK(view.quartersPerMinute == Approx(84).epsilon(0.03));
      CHECK(view.bar == b + 1);
      CHECK((view.tick - view.barStart).value / quarter.value == k);
    }
  seat.until(at(from + (bars + 6) * beats * beat, rate).value, 256);
  CHECK_FALSE(seat.view().playing);  // the hands have stopped
}

TEST_CASE("Hands that take the time over from a host begin with bar 1, whatever it counted",
          "[session][listening][view]") {
  const double rate = 48000, beat = 0.5;
  Seat seat(rate);
  seat.transport.bar = 40;
  seat.values().set(ParameterId::idiom, 1);
  seat.until(4800, 480);
  CHECK(seat.view().bar == 41);
  seat.values().set(ParameterId::time, 2);
  seat.give(steadyBars(8, 3, 0.5, beat, rate));
  seat.until(at(0.5 + 5.2 * 3 * beat, rate).value, 256);
  CHECK(seat.view().playing);
  CHECK(seat.view().bar == 6);
}

TEST_CASE("Another idiom is listened for in its own meter", "[session][listening][view]") {
  Seat seat;
  seat.values().set(ParameterId::time, 2);
  for (const auto& [slot, meter] : {std::pair{1, Meter{3, 4}}, std::pair{3, Meter{4, 4}}, std::pair{1, Meter{3, 4}}}) {
    seat.values().set(ParameterId::idiom, slot);
    seat.until(seat.now() + 4800, 480);
    CHECK(seat.view().meter == meter);
  }
}

TEST_CASE("Hands that count in are followed from the first downbeat on", "[session][listening][view]") {
  const double rate = 48000, beat = 0.5;
  Seat seat(rate);
  seat.values().set(ParameterId::idiom, 1);
  seat.values().set(ParameterId::time, 2);
  seat.values().set(ParameterId::countIn, 2);  // three strokes
  TwoHands counted;
  for (int k = 0; k < 3; ++k) counted.notes.push_back({1 + k * beat, 1.2 + k * beat, 84, 90, Hand::melody});
  auto notes = messagesOf(counted, rate);
  const auto bars = steadyBars(4, 3, 1 + 3 * beat, beat, rate);
  notes.insert(notes.end(), bars.begin(), bars.end());
  seat.give(notes);
  seat.until(at(1 + 3.3 * beat, rate).value, 256);
  CHECK(seat.view().playing);
  CHECK(seat.view().quartersPerMinute == Approx(120).epsilon(0.02));
  CHECK((seat.view().tick - seat.view().barStart).value / quarter.value == 0);
}

TEST_CASE("An idiom that plays in any meter lets the hands say it", "[session][listening][view]") {
  const double rate = 48000, beat = 0.6;
  Seat seat(rate);
  seat.values().set(ParameterId::idiom, 0);
  seat.values().set(ParameterId::time, 2);
  seat.give(steadyBars(16, 3, 0.5, beat, rate));
  seat.until(at(0.5 + 15.5 * 3 * beat, rate).value, 256);
  CHECK(seat.view().playing);
  CHECK(seat.view().meter == Meter{3, 4});
}

TEST_CASE("From the hands back to the host, and to the own tempo, the accompaniment goes on in that time",
          "[session][listening][time]") {
  const double rate = 48000;
  for (const int source : {0, 1}) {
    Seat seat(rate);
    seat.transport.quartersPerMinute = 90;
    seat.values().set(ParameterId::idiom, 3);
    seat.values().set(ParameterId::time, 2);
    seat.values().set(ParameterId::ownTempo, 132);
    seat.give(steadyBars(12, 4, 0.5, 0.5, rate));
    seat.until(at(12, rate).value, 512);
    CHECK(seat.view().quartersPerMinute == Approx(120).epsilon(0.03));
    seat.values().set(ParameterId::time, source);
    seat.until(at(13, rate).value, 512);
    CHECK(seat.view().playing);
    CHECK(seat.view().quartersPerMinute == Approx(source == 0 ? 90 : 132));
    const auto place = static_cast<double>(seat.view().tick.value) / static_cast<double>(quarter.value);
    if (source == 0) CHECK(place == Approx(seat.transport.quarters).margin(0.05));
    seat.heard.clear();
    seat.until(at(17, rate).value, 512);
    const auto ours = std::count_if(seat.heard.begin(), seat.heard.end(), [](const Heard& h) {
      return (h.bytes[0] & 0xF0) == 0x90 && h.bytes[2] > 0 && (h.bytes[0] & 0x0F) != 0;
    });
    CHECK(ours > 4);
  }
}

TEST_CASE("A note in doubt ends on the key on which it began, though the transposition changes meanwhile",
          "[session][listening][map]") {
  const double rate = 48000;
  for (const auto group : {Group::close, Group::dipping}) {
    const auto played = performanceOf(group, Half::report, 9);
    const auto notes = messagesOf(played, rate);
    Seat seat(rate);
    seat.give(notes);
    for (int i = 0; seat.now() < notes.back().sample.value; ++i) {
      seat.values().set(ParameterId::transpose, i % 7 - 3);
      seat.until(seat.now() + 4000, 500);
    }
    seat.until(seat.now() + 4 * 48000, 512);
    std::array<std::array<bool, 128>, 16> down{};
    for (const auto& h : seat.heard) {
      const auto kind = h.bytes[0] & 0xF0;
      if (kind != 0x80 && kind != 0x90) continue;
      down[h.bytes[0] & 0x0F][h.bytes[1]] = kind == 0x90 && h.bytes[2] > 0;
    }
    int open = 0;
    for (const auto& channel : down) open += static_cast<int>(std::count(channel.begin(), channel.end(), true));
    CHECK(open == 0);
    CHECK(seat.heard.size() > 100);
  }
}

TEST_CASE("Bars are numbered over changes of meter that the host makes, and found again after a jump",
          "[session][view][time]") {
  for (const bool counts : {false, true}) {
    Seat seat;
    if (counts) seat.transport.bar = 0;
    const auto play = [&](int bars) {  // to the middle of the last of them
      const auto bar = seat.transport.meter.bar().value * 24000 / quarter.value;
      seat.until(seat.now() + bar * (bars - 1) + bar * 5 / 8, 480);
    };
    const auto toTheLine = [&] {
      const auto bar = seat.transport.meter.bar().value * 24000 / quarter.value;
      seat.until(seat.now() + bar * 3 / 8, 480);
    };
    const auto change = [&](Meter meter) {
      toTheLine();
      seat.transport.meter = meter;
    };
    const auto jump = [&](double quarters, Meter meter, std::int64_t bar) {
      seat.transport.quarters = seat.transport.barStart = quarters;
      seat.transport.meter = meter;
      if (counts) seat.transport.bar = bar;
    };
    INFO((counts ? "the host counts" : "the host does not count"));
    play(2);
    CHECK(seat.view().bar == 2);
    change({3, 4});
    play(3);
    CHECK(seat.view().bar == 5);
    CHECK(seat.view().meter == Meter{3, 4});
    change({6, 8});  // as long, and so no matter
    play(1);
    CHECK(seat.view().bar == 6);
    change({4, 4});
    play(2);
    CHECK(seat.view().bar == 8);
    CHECK((seat.view().tick - seat.view().barStart).value / quarter.value == 2);
    jump(8 + 3, {3, 4}, 3);
    play(1);
    CHECK(seat.view().bar == 4);
    jump(8 + 12 + 8, {4, 4}, 8);
    play(1);
    CHECK(seat.view().bar == 9);
    jump(-4, {4, 4}, -1);
    play(1);
    CHECK(seat.view().bar == 0);
  }
}

TEST_CASE("In the own tempo bars are numbered over another idiom's meter", "[session][view][time]") {
  Seat seat;
  seat.transport.playing = false;
  seat.values().set(ParameterId::time, 1);
  seat.values().set(ParameterId::ownTempo, 120);
  seat.values().set(ParameterId::idiom, 3);  // in four
  seat.until(24000 * 4 * 2 + 24000, 480);
  CHECK(seat.view().bar == 3);
  seat.values().set(ParameterId::idiom, 1);  // a waltz: from the bar line that has gone by
  seat.until(24000 * 8 + 24000 * 3 + 30000, 480);
  CHECK(seat.view().meter == Meter{3, 4});
  CHECK(seat.view().bar == 4);
  CHECK((seat.view().tick - seat.view().barStart).value / quarter.value == 1);
}
