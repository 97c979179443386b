#include <algorithm>
#include <string>

#include "dsp/harmony.h"
#include "plugin/page/quantiser.h"
#include "tests/catch.h"
#include "tests/page/page_support.h"

using namespace seguente;
using namespace seguente::test;
using page::Told;
using page::ToldKind;
using page::Writer;

namespace {

constexpr Meter four{4, 4};
NoteNumber k(int n) { return {static_cast<std::uint8_t>(n)}; }
Ticks ms(double n) { return quarters(n / 500); }  // at 120 quarters a minute

/// A writer that has been told the time.
struct Desk {
  Writer writer;
  std::uint32_t next = 1;
  explicit Desk(Meter meter = four, const Writer::Options& options = {}) : writer(options) {
    writer.tell(Told::time({}, meter, {}, 120));
  }
  std::uint32_t play(int key, Ticks from, Ticks to) {
    const auto id = next++;
    writer.tell(Told::tuneNote(id, k(key), from));
    writer.tell(Told::tuneEnd(id, to));
    return id;
  }
  void until(Ticks t) { writer.tell(Told::of(ToldKind::now, t)); }
  std::string tune(std::uint64_t bar = 0) {
    const page::Bar* b = writer.bar(bar);
    if (b == nullptr) return "no such bar";
    std::string all;
    for (const page::Event& e : b->staff(page::StaffKind::upper).voices[0].events) {
      if (!all.empty()) all += " ";
      static const char* values[] = {"1", "2", "4", "8", "16", "32"};
      if (e.wholeBar) return e.shown ? "bar's rest" : "nothing yet";
      if (e.rest() && !e.shown) {
        all += ".";
        continue;
      }
      for (const page::Note& g : e.graces) all += "(" + keyName(g.key) + ")";
      for (const page::Note& n : e.notes)
        all += keyName(n.key) + (n.tiedOut ? "~" : "") + (&n != &e.notes.back() ? "+" : "");
      all += std::string(e.rest() ? "r" : ":") + values[e.value.power] + (e.value.dots > 0 ? "." : "") +
             (e.tuplet >= 0 ? "t" : "");
    }
    return all;
  }
};

/// A note of ours on its step.
void ours(Writer& writer, std::uint32_t id, int key, Ticks at, Ticks to, PartKind part = PartKind::chords,
          FigureKind figure = FigureKind::statement) {
  NoteReason reason;
  reason.noteId = id;
  reason.dueTick = at;
  reason.figure = figure;
  Output o;
  o.bytes = {0x90, static_cast<std::uint8_t>(key), 80};
  o.noteId = id;
  o.tick = at;
  o.reason = &reason;
  writer.tell(Told::ourNote(o, part));
  writer.tell(Told::ourEnd(id, to));
}

}  // namespace

TEST_CASE("notes that come a little early or late stand on the beat", "[page]") {
  Desk d;
  d.play(60, {}, quarters(0.9));
  d.play(62, quarters(1) - ms(25), quarters(1.9));
  d.play(64, quarters(2) + ms(30), quarters(2.8));
  d.play(65, quarters(3) - ms(15), quarters(3.8));
  d.play(67, quarters(4) - ms(20), quarters(7.9));
  d.until(quarters(12));
  CHECK(d.tune(0) == "C4:4 D4:4 E4:4 F4:4");
  CHECK(d.tune(1) == "G4:1");
}

TEST_CASE("three in a beat are a triplet, four are sixteenths", "[page]") {
  Desk d;
  for (int i = 0; i < 3; ++i) d.play(60 + 2 * i, quarters(i, 3) + ms(8), quarters(i + 1, 3) - ms(20));
  for (int i = 0; i < 4; ++i)
    d.play(67 - i, quarters(1) + quarters(i, 4) - ms(8), quarters(1) + quarters(i + 1, 4) - ms(20));
  d.play(60, quarters(2), quarters(4));
  d.until(quarters(8));
  CHECK(d.tune(0) == "C4:8t D4:8t E4:8t G4:16 F#4:16 F4:16 E4:16 C4:2");
}

TEST_CASE("two strokes that follow each other never stand on one place", "[page]") {
  Desk d;
  d.play(60, {}, quarters(0.12));
  d.play(67, quarters(0.13), quarters(0.95));
  d.play(72, quarters(1), quarters(3.95));
  d.until(quarters(8));
  CHECK(d.tune(0) == "C4:16 G4:8. C5:2.");
}

TEST_CASE("a chord that is rolled is one chord, and a quick neighbour is a small note", "[page]") {
  Desk d;
  d.play(60, {}, quarters(1.9));
  d.writer.tell(Told::tuneNote(50, k(64), ms(45)));
  d.writer.tell(Told::tuneNote(51, k(67), ms(90)));
  d.writer.tell(Told::tuneEnd(50, quarters(1.9)));
  d.writer.tell(Told::tuneEnd(51, quarters(1.9)));
  d.play(71, quarters(2) - ms(60), quarters(2) + ms(5));
  d.play(72, quarters(2), quarters(3.9));
  d.until(quarters(8));
  // The first finger's note was still down when the others came.
  CHECK(d.tune(0) == "C4+E4+G4:2 (B4)C5:2");
}

TEST_CASE("a silence that a hand makes between two notes is touch; a beat of silence is a rest", "[page]") {
  Desk d;
  d.play(60, {}, quarters(0.7));
  d.play(62, quarters(1), quarters(1.6));
  d.play(64, quarters(2), quarters(2.95));
  d.until(quarters(8));
  CHECK(d.tune(0) == "C4:4 D4:4 E4:4 r4");
}

TEST_CASE("a note over the bar line is tied, and the tie arrives", "[page]") {
  Desk d;
  d.play(60, quarters(3), quarters(5) - ms(30));
  d.play(62, quarters(5), quarters(7.9));
  d.until(quarters(12));
  CHECK(d.tune(0) == "r2 r4 C4~:4");
  CHECK(d.tune(1) == "C4:4 D4:2.");
  CHECK(faultBetween(*d.writer.bar(0), *d.writer.bar(1)) == "");
}

TEST_CASE("the bar in progress shows no rest that has not come, and no note before it sounds", "[page]") {
  Desk d;
  d.until(quarters(0.5));
  CHECK(d.tune(0) == "bar's rest");
  d.writer.tell(Told::tuneNote(7, k(60), quarters(1)));
  d.until(quarters(1.2));
  CHECK(d.tune(0) == "r4 C4:4 .");
  d.until(quarters(2.2));  // still down: as long as it has sounded
  CHECK(d.tune(0) == "r4 C4:2 .");
  CHECK(d.writer.bar(0)->current);
}

TEST_CASE("a bar that has passed stands as it is: frozen, it is the same whatever comes", "[page]") {
  Desk d;
  d.play(60, {}, quarters(1.9));
  d.play(64, quarters(2), quarters(3.9));
  d.until(quarters(5));
  REQUIRE(d.writer.settled(0));
  const std::string before = d.tune(0);
  for (int i = 0; i < 40; ++i) d.play(70, quarters(5) + quarters(i, 2), quarters(5.4) + quarters(i, 2));
  d.until(quarters(40));
  CHECK(d.tune(0) == before);
}

TEST_CASE("only the last bars are kept, and notes that find no room are counted", "[page]") {
  Writer::Options options;
  options.bars = 8;
  options.notesInTheAir = 16;
  Desk d(four, options);
  for (int i = 0; i < 400; ++i) d.play(60 + i % 12, quarters(i), quarters(i + 0.9));
  CHECK(d.writer.end() - d.writer.first() == 8);
  CHECK(d.writer.bar(0) == nullptr);
  CHECK(d.writer.dropped() == 0);
  for (int i = 0; i < 40; ++i)
    d.writer.tell(Told::tuneNote(1000u + static_cast<std::uint32_t>(i), k(40 + i), quarters(400)));
  CHECK(d.writer.dropped() > 0);
  d.until(quarters(100000));  // an hour and more with nothing to say
  CHECK(d.writer.end() - d.writer.first() == 8);
}

TEST_CASE("a change of meter is a bar line, and a jump breaks the bar off", "[page]") {
  Desk d;
  d.until(quarters(4));
  d.writer.tell(Told::time(quarters(4), {3, 4}, quarters(4), 120));
  d.until(quarters(8));
  REQUIRE(d.writer.bar(1) != nullptr);
  CHECK(d.writer.bar(1)->meter == Meter{3, 4});
  CHECK(d.writer.bar(1)->length == quarters(3));
  CHECK(d.writer.bar(2)->start == quarters(7));
  d.writer.tell(Told::time(quarters(4), {3, 4}, quarters(4), 120, true));  // the loop's beginning again
  CHECK(d.writer.bar(2)->broken);
  CHECK(d.writer.bar(3)->start == quarters(4));
  CHECK(d.writer.bar(3)->number == 2);
}

TEST_CASE("an incomplete first bar counts as none, and its notes are the bar's last beats", "[page]") {
  Writer writer;
  writer.tell(Told::time({}, {3, 4}, quarters(1), 120));
  writer.tell(Told::tuneNote(1, k(67), {}));
  writer.tell(Told::tuneEnd(1, quarters(0.9)));
  writer.tell(Told::of(ToldKind::now, quarters(9)));
  const page::Bar* pickup = writer.bar(0);
  CHECK(pickup->number == 0);
  CHECK(pickup->before == quarters(2));
  CHECK(pickup->length == quarters(1));
  CHECK(writer.bar(1)->number == 1);
}

TEST_CASE("a chord's symbol stands over its first note, and again where it goes on in the next bar", "[page]") {
  Desk d;
  const Key c = *parseKey("C");
  d.writer.tell(Told::chordHeard(1, quarters(0.05), *parseSymbol("C"), c));
  d.until(quarters(5));
  d.writer.tell(Told::chordHeard(2, quarters(6) - ms(30), *parseSymbol("G7"), c));
  d.until(quarters(9));
  const page::Bar& first = *d.writer.bar(0);
  REQUIRE(first.chords.size() == 1);
  CHECK(first.chords[0].symbol == "C");
  CHECK(first.chords[0].numeral == "I");
  CHECK(first.chords[0].at == Ticks{});
  const page::Bar& second = *d.writer.bar(1);
  REQUIRE(second.chords.size() == 2);
  CHECK(second.chords[0].continued);
  CHECK(second.chords[1].symbol == "G7");
  CHECK(second.chords[1].at == quarters(2));
}

TEST_CASE("a wrong attack that was taken back is not written", "[page]") {
  Desk d;
  ours(d.writer, 1, 48, {}, ms(90));
  NoteReason reason;
  reason.noteId = 2;
  reason.reason = Reason::correction;
  Output o;
  o.bytes = {0x90, 53, 80};
  o.noteId = 2;
  o.tick = ms(90);
  o.reason = &reason;
  d.writer.tell(Told::ourNote(o, PartKind::chords));
  d.writer.tell(Told::ourEnd(2, quarters(1)));
  d.until(quarters(8));
  std::vector<int> keys;
  for (const page::Event& e : d.writer.bar(0)->staff(page::StaffKind::lower).voices[0].events)
    for (const page::Note& n : e.notes) keys.push_back(n.key.value);
  CHECK(keys == std::vector<int>{53});
}

TEST_CASE("each note of ours keeps its reason, so that pointing at it can say why", "[page]") {
  Desk d;
  ours(d.writer, 9, 48, {}, quarters(1), PartKind::bass, FigureKind::answer);
  d.until(quarters(8));
  const page::Note& note = d.writer.bar(0)->staff(page::StaffKind::lower).voices[0].events[0].notes[0];
  CHECK(note.noteId == 9);
  CHECK(note.reason.noteId == 9);
  CHECK(note.reason.figure == FigureKind::answer);
  REQUIRE(d.writer.bar(0)->form.size() == 1);
  CHECK(d.writer.bar(0)->form[0].kind == FigureKind::answer);
}

TEST_CASE("percussion has a line of its own", "[page]") {
  Desk d;
  ours(d.writer, 1, 36, {}, quarters(1), PartKind::percussion);
  ours(d.writer, 2, 48, {}, quarters(1), PartKind::bass);
  d.until(quarters(8));
  CHECK(d.writer.bar(0)->staff(page::StaffKind::percussion).voices.size() == 1);
  CHECK(d.writer.bar(1)->staff(page::StaffKind::percussion).voices.empty());
  CHECK(readBack(barsOf(d.writer)).size() == 2);
}

TEST_CASE("the key that is found names what was written before it was known", "[page]") {
  Desk d;
  d.play(66, {}, quarters(3.9));
  d.until(quarters(6));
  CHECK(d.writer.bar(0)->staff(page::StaffKind::upper).voices[0].events[0].notes[0].sign);
  d.writer.tell(Told::keyFound(*parseKey("G")));
  const page::Bar& bar = *d.writer.bar(0);
  CHECK(bar.key == *parseKey("G"));
  CHECK_FALSE(bar.staff(page::StaffKind::upper).voices[0].events[0].notes[0].sign);
}

TEST_CASE("a swung place goes back to its straight one", "[page]") {
  // dsp/player: long : short within a quarter, 2 : 1.
  CHECK(page::straightened(quarters(2, 3), 2000, quarter) == quarters(1, 2));
  CHECK(page::straightened(quarters(1, 3), 2000, quarter) == quarters(1, 4));
  CHECK(page::straightened(quarters(5, 3), 2000, quarter) == quarters(3, 2));
  CHECK(page::straightened(quarters(3), 2000, quarter) == quarters(3));
  CHECK(page::straightened(quarters(1, 2), 1000, quarter) == quarters(1, 2));
}

TEST_CASE("a tune that goes with the swing is written in plain eighths, and so is one that goes straight", "[page]") {
  for (const double place : {2.0 / 3, 0.5}) {
    Desk d;
    d.writer.tell(Told::swingFrom({}, 2000, quarter));
    for (int b = 0; b < 4; ++b) {
      d.play(60 + b, quarters(b), quarters(b + place - 0.05));
      d.play(67 + b, quarters(b + place), quarters(b + 0.97));
    }
    d.until(quarters(8));
    CHECK(d.tune(0) == "C4:8 G4:8 C#4:8 Ab4:8 D4:8 A4:8 Eb4:8 Bb4:8");
  }
}

TEST_CASE("even sixteenths in a swung piece are sixteenths", "[page]") {
  Desk d;
  d.writer.tell(Told::swingFrom({}, 2000, quarter));
  // A hand that runs a little ahead of the beat, as measured hands do.
  for (int i = 0; i < 8; ++i) {
    const Ticks at = i == 0 ? Ticks{} : quarters(i, 4) - ms(18);
    d.play(60 + i, at, at + quarters(0.23));
  }
  d.play(72, quarters(2), quarters(3.95));
  d.until(quarters(8));
  CHECK(d.tune(0) == "C4:16 C#4:16 D4:16 Eb4:16 E4:16 F4:16 F#4:16 G4:16 C5:2");
}
