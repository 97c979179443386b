// The page on the screen against what came out of the plugin.
#include <algorithm>
#include <map>
#include <set>

#include "plugin/editor/reasons.h"
#include "plugin/editor/strings.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr int barBlocks = 3 * Desk::quarterBlocks;

struct Written {
  Ticks at{};
  int key = 0;
  page::Source source{};
  bool coming = false;
};

/// Every note that is written, ties counted once.
std::vector<Written> written(Desk& desk) {
  std::vector<Written> all;
  auto& writer = desk.processor().score().writer();
  for (auto o = writer.first(); o < writer.end(); ++o) {
    const auto* bar = writer.bar(o);
    for (const auto& staff : bar->staves)
      for (const auto& voice : staff.voices)
        for (const auto& event : voice.events)
          for (const auto& note : event.notes)
            if (!note.tiedIn) all.push_back({bar->start + event.at, note.key.value, note.source, note.coming});
  }
  std::stable_sort(all.begin(), all.end(), [](const Written& a, const Written& b) { return a.at < b.at; });
  return all;
}

/// A waltz with three chords and a tune, `bars` bars of it.
void waltz(Desk& desk, int bars) {
  desk.count(3, 4);
  desk.processor().values().set(ParameterId::idiom, 1);
  desk.processor().values().set(ParameterId::density, 0);
  const std::vector<std::vector<int>> chords{{48, 52, 55}, {48, 52, 55}, {48, 53, 57}, {47, 53, 55}};
  std::vector<int> held;
  for (int b = 0; b < bars; ++b) {
    const auto& chord = chords[static_cast<std::size_t>(b) % chords.size()];
    if (held != chord) {
      for (const int key : held) desk.letGo({key}, false);
      for (const int key : chord) desk.press({key}, false);
      held = chord;
    }
    desk.press({72 + b % 3}, false);
    desk.play(barBlocks - 20);
    desk.letGo({72 + b % 3}, false);
    desk.play(20);
  }
}

}  // namespace

TEST_CASE("The page writes the notes that came out, all of them, the tune above and the accompaniment below") {
  Desk desk;
  waltz(desk, 12);
  auto out = desk.struck();
  std::vector<int> page;
  for (const auto& note : written(desk))
    if (!note.coming) page.push_back(note.key);
  REQUIRE(page.size() > 60);
  std::multiset<int> left(out.begin(), out.end());
  for (const int key : page) {
    INFO(key);
    const auto found = left.find(key);
    REQUIRE(found != left.end());
    left.erase(found);
  }
  CHECK(left.empty());
  for (const auto& note : written(desk)) CHECK((note.source == page::Source::melody) == (note.key >= 70));
  CHECK(desk.processor().score().dropped() == 0);
}

TEST_CASE(
    "The tune is never written before it sounds, and what comes of the accompaniment lies right of the playhead") {
  Desk desk;
  for (int b = 1; b < 8; ++b) {
    waltz(desk, 1);
    for (const auto& note : written(desk)) {
      INFO(note.key << " at " << note.at.value << ", now " << desk.now().value);
      if (note.source == page::Source::melody) CHECK(note.at <= desk.now() + Ticks{quarter.value / 2});
      if (note.coming) CHECK(note.at > desk.now());
      if (note.coming) CHECK(note.source == page::Source::accompaniment);
    }
  }
}

TEST_CASE("What is due next is what then sounds") {
  Desk desk;
  waltz(desk, 5);
  int told = 0, right = 0;
  for (int step = 0; step < 40; ++step) {
    const auto next = desk.processor().score().next();
    const auto before = desk.struck().size();
    for (int i = 0; i < 80 && desk.struck().size() == before; ++i) desk.play(1);
    KeySet struck;
    for (std::size_t i = before; i < desk.struck().size(); ++i)
      struck.add({static_cast<std::uint8_t>(desk.struck()[i])});
    if (next.empty()) continue;
    ++told;
    right += next == struck ? 1 : 0;
    desk.play(4);
  }
  INFO(right << " of " << told);
  CHECK(told >= 35);
  CHECK(right * 10 >= told * 9);
}

TEST_CASE("A bar that stands still stays as it is while the music goes on, and is gone through note by note") {
  Desk desk;
  waltz(desk, 4);
  auto& score = desk.page().desk().score();
  auto& writer = desk.processor().score().writer();
  const auto bar = writer.end() - 2;
  REQUIRE(writer.bar(bar) != nullptr);
  score.freeze(bar);
  REQUIRE(score.frozen() == bar);
  CHECK(score.getTitle().contains("standing still"));
  desk.play(40);
  CHECK(score.frozen() == bar);
  std::vector<double> places;
  for (int i = 0; i < 4; ++i) {
    score.step(1);
    const auto* head = score.pointedNote();
    REQUIRE(head != nullptr);
    CHECK(head->ordinal == bar);
    places.push_back(static_cast<double>(head->at.value));
    CHECK(score.remark().containsChar(':'));
    CHECK(score.getDescription() == score.remark());
  }
  CHECK(std::is_sorted(places.begin(), places.end()));
  score.step(-1);
  CHECK(pressKey(score, juce::KeyPress::escapeKey));
  CHECK_FALSE(score.frozen());
}

TEST_CASE("A bar that stands still is played slowly, once, and pointed at as it goes") {
  Desk desk;
  waltz(desk, 4);
  auto& score = desk.page().desk().score();
  auto& writer = desk.processor().score().writer();
  const auto bar = writer.end() - 2;
  desk.letGo({48, 52, 55, 53, 57, 47});
  desk.control(123, 0);
  desk.roll(false);
  desk.play(20);
  score.freeze(bar);
  REQUIRE(score.frozen() == bar);
  const auto written = page::readingOf(*writer.bar(bar));
  REQUIRE(written.size() >= 4);
  const auto before = desk.struck().size();
  REQUIRE(score.keyPressed(juce::KeyPress('/', {}, '/')));
  const auto* first = score.pointedNote();
  desk.play(3 * Desk::quarterBlocks);
  const auto half = desk.struck().size() - before;  // three quarters of six: the bar takes twice its time
  CHECK(half > 0);
  CHECK(half < written.size());
  CHECK(score.pointedNote() != nullptr);
  CHECK(score.pointedNote() != first);
  desk.play(4 * Desk::quarterBlocks);
  CHECK(desk.struck().size() - before == written.size());
  std::vector<int> keys(desk.struck().begin() + static_cast<std::ptrdiff_t>(before), desk.struck().end()), wanted;
  for (const auto& note : written) wanted.push_back(note.key.value);
  std::sort(keys.begin(), keys.end());
  std::sort(wanted.begin(), wanted.end());
  CHECK(keys == wanted);

  REQUIRE(score.keyPressed(juce::KeyPress('/', {}, '/')));
  desk.play(4);
  REQUIRE(score.keyPressed(juce::KeyPress('/', {}, '/')));  // once more: it stops
  desk.play(2);
  const auto stopped = desk.struck().size();
  desk.play(6 * Desk::quarterBlocks);
  CHECK(desk.struck().size() == stopped);
}

TEST_CASE("Pointing at a note says why it was played, in the engine's own reason") {
  Desk desk;
  waltz(desk, 3);
  auto& writer = desk.processor().score().writer();
  // Bar 1 is C's statement, bar 2 its answer: the bass alternates between root and fifth (patterns/waltz.toml).
  const auto bass = [&](std::uint64_t ordinal) {
    const auto* bar = writer.bar(ordinal);
    for (const auto& voice : bar->staff(page::StaffKind::lower).voices)
      for (const auto& event : voice.events)
        if (event.at == Ticks{} && !event.notes.empty()) return screen::whyOf(event.notes.front(), *bar, event.at);
    return juce::String();
  };
  const auto first = writer.first();
  CHECK(bass(first).startsWith("C: the root of C. The "));
  CHECK(bass(first).contains(" has it on one."));
  CHECK(bass(first + 1) == "G: the fifth of C. The answer has it on one.");
}

TEST_CASE("After the bar line no head keeps a colour, and only what sounds has one") {
  Desk desk;
  waltz(desk, 6);
  desk.play(10);
  auto& score = desk.page().desk().score();
  auto& writer = desk.processor().score().writer();
  for (std::size_t s = 0; s < score.systems(); ++s) {
    const auto& sheet = score.drawing(s).sheet();
    for (const auto& mark : sheet.marks) {
      if (mark.token != page::Token::melody && mark.token != page::Token::accompaniment) continue;
      CHECK(mark.kind == page::Mark::Kind::glyph);  // heads, never a text
      double left = -1;
      for (const auto& bar : sheet.bars)
        if (bar.ordinal == writer.end() - 1) left = bar.box.left;
      REQUIRE(left >= 0);
      CHECK(mark.a.x > left);
    }
  }
}

TEST_CASE("With reduced motion the picture does not change between two beats") {
  Desk desk;
  waltz(desk, 2);
  desk.play(8);
  auto& score = desk.page().desk().score();
  score.setReducedMotion(true);
  desk.play(2);
  const auto band = score.band();
  desk.play(20);  // a third of a beat
  CHECK(score.band() == band);
  score.setReducedMotion(false);
  desk.play(4);
  CHECK(score.band() != band);
}

TEST_CASE("When nobody reads, what is told is dropped and counted, and the page says so") {
  page::ToldRing ring;
  ring.open();
  for (std::uint32_t i = 0; i < page::ToldRing::room + 7; ++i)
    ring.push(page::Told::of(page::ToldKind::now, quarter * static_cast<std::int64_t>(i)));
  CHECK(ring.dropped() == 7);
  page::Told told;
  std::uint32_t count = 0;
  while (ring.pop(told)) CHECK(told.tick == quarter * static_cast<std::int64_t>(count++));
  CHECK(count == page::ToldRing::room);
  ring.push(page::Told::of(page::ToldKind::now, quarter));
  CHECK(ring.pop(told));
}

TEST_CASE("After a rush that nobody read, no note stays on the page for ever") {
  Desk desk;
  waltz(desk, 1);
  auto& ring = const_cast<ViewBox&>(desk.processor().view()).told();
  NoteReason reason;
  for (std::uint32_t i = 0; i < page::ToldRing::room + 100; ++i) {
    Output on;
    on.bytes = {0x90, 100, 80};  // above all that the waltz plays
    on.noteId = 100000 + i;
    on.tick = desk.now();
    reason.dueTick = desk.now();
    on.reason = &reason;
    ring.push(page::Told::ourNote(on, PartKind::chords));
  }
  desk.play(4);
  CHECK(desk.processor().score().dropped() > 0);
  waltz(desk, 3);
  const auto& writer = desk.processor().score().writer();
  for (const auto& note : written(desk))
    if (note.key == 100) CHECK(note.at < desk.now() - quarter * 6);
  CHECK(writer.end() > writer.first() + 2);
}

TEST_CASE("A window that is opened while the music goes on finds the page written") {
  Desk desk;
  waltz(desk, 3);
  desk.reopen();
  desk.play(1);
  auto& score = desk.page().desk().score();
  std::size_t heads = 0;
  for (std::size_t s = 0; s < score.systems(); ++s) heads += score.drawing(s).sheet().heads.size();
  CHECK(heads > 20);
}
