// A written bar, sounded again from the page. Swing as a ratio of long to short: common practice (REFERENCES.md 3).
#include "plugin/page/reading.h"
#include "tests/catch.h"
#include "tests/page/page_support.h"

using namespace seguente;
using namespace seguente::test;
using page::Told;

namespace {

/// Two bars of four in which the tune is played, told to a writer.
struct Sheet {
  page::Writer writer;
  std::uint32_t next = 1;
  explicit Sheet(std::int32_t swing = 1000, Ticks pair = quarter) {
    writer.tell(Told::time({}, {4, 4}, {}, 120));
    if (swing != 1000) writer.tell(Told::swingFrom({}, swing, pair));
  }
  void play(int key, double from, double to) {
    writer.tell(Told::tuneNote(next, {static_cast<std::uint8_t>(key)}, quarters(from)));
    writer.tell(Told::tuneEnd(next++, quarters(to)));
  }
  std::vector<page::ReadNote> read() {
    writer.tell(Told::of(page::ToldKind::now, quarters(10)));
    return page::readingOf(*writer.bar(0));
  }
};

}  // namespace

TEST_CASE("A bar that is read aloud has each note once, where it is written") {
  Sheet sheet;
  sheet.play(60, 0, 1);
  sheet.play(64, 1, 1.5);
  sheet.play(65, 1.5, 2);
  sheet.play(67, 2, 4);
  const auto notes = sheet.read();
  REQUIRE(notes.size() == 4);
  const double ons[] = {0, 1, 1.5, 2}, offs[] = {1, 1.5, 2, 4};
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(notes[i].on == Approx(ons[i]));
    CHECK(notes[i].off == Approx(offs[i]));
  }
}

TEST_CASE("Tied heads are one note when a bar is read aloud") {
  Sheet sheet;
  sheet.play(60, 0, 1.5);
  sheet.play(62, 1.5, 4);  // a tie over the middle of the bar
  const auto notes = sheet.read();
  REQUIRE(notes.size() == 2);
  CHECK(notes[1].on == Approx(1.5));
  CHECK(notes[1].off == Approx(4));
}

TEST_CASE("A bar that swings is written straight and read aloud swinging") {
  Sheet sheet(2000);
  for (int i = 0; i < 4; ++i) {
    sheet.play(60, i, i + 2.0 / 3);
    sheet.play(62, i + 2.0 / 3, i + 1);
  }
  const auto notes = sheet.read();
  REQUIRE(notes.size() == 8);
  for (std::size_t i = 0; i < 8; ++i) {
    const double beat = static_cast<double>(i / 2);
    CHECK(notes[i].on == Approx(beat + (i % 2 == 1 ? 2.0 / 3 : 0)));
    CHECK(notes[i].at == quarters(static_cast<double>(i) / 2));
  }
}

TEST_CASE("Swung sixteenths are read aloud as long and short within an eighth") {
  Sheet sheet(2000, Ticks{quarter.value / 2});
  const double ons[] = {0, 1.0 / 3, 0.5, 0.5 + 1.0 / 3};
  for (const double on : ons) sheet.play(60, on, on + 0.15);
  const auto notes = sheet.read();
  REQUIRE(notes.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) CHECK(notes[i].on == Approx(ons[i]));
}
