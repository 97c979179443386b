// Each detector of tests/support has a deliberate culprit here, so that it cannot fall asleep.
#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

Event ours(OutputKind kind, std::int64_t sample, std::uint32_t id, int key, int channel = 1) {
  Event e;
  e.sample = {sample};
  e.kind = kind;
  e.noteId = id;
  const int status = kind == OutputKind::noteOn ? 0x90 : 0x80;
  e.bytes = {static_cast<std::uint8_t>(status | channel), static_cast<std::uint8_t>(key), 70};
  e.reason.noteId = id;
  e.reason.due = {sample};
  e.reason.reason = Reason::asHeld;
  e.tick = {sample * 13};
  return e;
}

Event passed(std::int64_t sample, std::uint32_t input) {
  Event e;
  e.sample = {sample};
  e.inputIndex = input;
  return e;
}

std::vector<Input> tuneNote(std::int64_t down, std::int64_t up) {
  Score score(48000, {4, 4});
  score.message({0x90, 64, 80}, Samples{down}).message({0x80, 64, 64}, Samples{up});
  return score.inputs();
}

constexpr auto on = OutputKind::noteOn;
constexpr auto off = OutputKind::noteOff;

Rendering of(std::vector<Event> events) {
  Rendering r;
  r.events = std::move(events);
  return r;
}

}  // namespace

TEST_CASE("The detector of hanging notes sees a missing, a second and a foreign note-off", "[engine][detectors]") {
  CHECK(hangingNotes(of({ours(on, 10, 1, 48), ours(off, 20, 1, 48)})) == "");
  CHECK(hangingNotes(of({ours(on, 10, 1, 48)})) != "");
  CHECK(hangingNotes(of({ours(on, 10, 1, 48), ours(off, 20, 1, 48), ours(off, 21, 1, 48)})) != "");
  CHECK(hangingNotes(of({ours(on, 10, 1, 48), ours(off, 20, 1, 50)})) != "");
  CHECK(hangingNotes(of({ours(on, 10, 1, 48), ours(on, 12, 2, 48), ours(off, 20, 1, 48), ours(off, 20, 2, 48)})) != "");
}

TEST_CASE("The detector of what passes sees a lost, a late, a doubled and a leaked message", "[engine][detectors]") {
  const auto inputs = tuneNote(100, 200);  // input 0 is the time anchor
  const Settings settings;
  CHECK(passedWrongly(of({passed(100, 1), passed(200, 2)}), inputs, settings) == "");
  CHECK(passedWrongly(of({passed(100, 1)}), inputs, settings) != "");
  CHECK(passedWrongly(of({passed(101, 1), passed(200, 2)}), inputs, settings) != "");
  CHECK(passedWrongly(of({passed(100, 1), passed(200, 2), passed(200, 2)}), inputs, settings) != "");
  Settings all;
  all.split = {127};  // now the note is the chord hand's and must not leak
  CHECK(passedWrongly(of({passed(100, 1), passed(200, 2)}), inputs, all) != "");
}

TEST_CASE("The detector of clashes sees ours on a key of the tune, either way round", "[engine][detectors]") {
  const auto inputs = tuneNote(100, 200);
  CHECK(clashes(of({passed(100, 1), ours(on, 120, 1, 64, 1), passed(200, 2)}), inputs) == "");  // another channel
  CHECK(clashes(of({passed(100, 1), ours(on, 120, 1, 64, 0), passed(200, 2)}), inputs) != "");
  CHECK(clashes(of({ours(on, 50, 1, 64, 0), passed(100, 1)}), inputs) != "");
  CHECK(clashes(of({ours(on, 50, 1, 64, 0), ours(off, 100, 1, 64, 0), passed(100, 1)}), inputs) == "");
}

TEST_CASE("The detector of order sees a note-on of ours before what passes, and time that runs backwards",
          "[engine][detectors]") {
  CHECK(disorder(of({ours(off, 100, 1, 48), passed(100, 1), ours(on, 100, 2, 48)})) == "");
  CHECK(disorder(of({ours(on, 100, 2, 48), passed(100, 1)})) != "");
  CHECK(disorder(of({ours(on, 100, 2, 48), ours(off, 99, 2, 48)})) != "");
}

TEST_CASE("The detector of lateness sees a note before its step, and one behind it without a cause",
          "[engine][detectors]") {
  auto note = ours(on, 100, 1, 48);
  note.reason.reason = Reason::step;
  CHECK(lateWithoutCause(of({note})) == "");
  note.reason.due = {99};
  CHECK(lateWithoutCause(of({note})) != "");
  note.reason.cause = DelayCause::handLate;
  CHECK(lateWithoutCause(of({note})) == "");
  note.reason.due = {101};
  CHECK(lateWithoutCause(of({note})) != "");
}

TEST_CASE("The detectors of an open tune and of an unexplained note see their culprits", "[engine][detectors]") {
  const auto inputs = tuneNote(100, 200);
  CHECK(openTune(of({passed(100, 1), passed(200, 2)}), inputs) == "");
  CHECK(openTune(of({passed(100, 1)}), inputs) != "");
  auto note = ours(on, 100, 1, 48);
  note.reason.reason = Reason::step;
  note.reason.chordId = 3;
  auto r = of({note});
  CHECK(unexplained(r) != "");
  HeardFact told;
  told.fact.id = 3;
  told.fact.sample = {100};
  r.facts.push_back(told);
  CHECK(unexplained(r) == "");
}

TEST_CASE("A mismatch of two runs is printed as music", "[engine][detectors]") {
  const Score score(48000, {3, 4}, 120);
  auto note = ours(on, 0, 7, 36);
  note.tick = quarters(7) + quarters(1, 3);
  CHECK(firstDifference(of({note}), of({}), score) ==
        "bar 3, beat 2 1/3: part 0 C2 (note 7, sample 0) expected, nothing came");
  CHECK(firstDifference(of({note}), of({note}), score) == "");
  CHECK(firstDifference(of({}), of({note}), score).find("nothing expected") != std::string::npos);
}
