// The page as it is drawn: the checks of the project's look (5, 6, 7 and 11 of its list) and common engraving, from
// memory.
#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <string>

#include "dsp/harmony.h"
#include "plugin/page/engraving.h"
#include "plugin/page/measure.h"
#include "plugin/page/staff_layout.h"
#include "plugin/page/staff_stems.h"
#include "plugin/page/svg.h"
#include "tests/catch.h"
#include "tests/page/page_support.h"
#include "tests/support/hands.h"

using namespace seguente;
using namespace seguente::test;
using page::Glyph;
using page::Mark;
using page::Sheet;

namespace {

constexpr double pixel = 1.0 / 8;  // at a staff space of 8

/// A tune with chromatic notes, sixteenths and seconds over an idiom.
std::vector<page::Bar> piece(const std::string& id, Density density, const char* keyName = "C") {
  const Idiom& i = idiom(id);
  const Meter meter = i.anyMeter ? Meter{6, 8} : i.meter;
  Score score(48000, meter);
  Settings settings;
  settings.density = density;
  score.with(i);
  score.with(settings);
  const char* chords[] = {"C3 E3 G3",  "C3 F3 A3", "B2 F3 G3", "C3 E3 G3",
                          "A2 C#3 E3", "A2 D3 F3", "B2 F3 G3", "C3 E3 G3"};
  const char* notes[] = {"E5", "F#5", "G5", "Bb4", "C#5", "D5", "A5", "B5", "C4", "G6", "Eb5", "E5"};
  const Ticks bar = meter.bar();
  for (int b = 0; b < 8; ++b) {
    score.chord(chords[b], bar * b, bar * (b + 1) - Ticks{quarter.value / 8});
    const Ticks step{b % 3 == 0 ? quarter.value : b % 3 == 1 ? quarter.value / 2 : quarter.value / 4};
    int n = b;
    for (Ticks t{}; t < bar; t = t + step, ++n)
      score.tune(notes[n % 12], bar * b + t, bar * b + t + step - Ticks{quarter.value / 16});
  }
  page::Writer::Options options;
  options.key = *parseKey(keyName);
  page::Writer writer(options);
  for (const page::Told& told : toldOf(render(score, bar * 8), score, i)) writer.tell(told);
  writer.tell(page::Told::of(page::ToldKind::now, bar * 8 + quarter));
  auto bars = barsOf(writer);
  bars.resize(8);
  return bars;
}

#ifdef SEGUENTE_SANITIZED  // which are slow: the same lines of code for one key
const std::vector<const char*> everyKey = {"F# minor"};
#else
const std::vector<const char*> everyKey = {"C", "Ab", "F# minor"};
#endif

void forEveryPiece(const std::function<void(const std::vector<page::Bar>&)>& check) {
  for (const auto& id : idiomIds())
    for (const Density density : {Density::lean, Density::medium, Density::full})
      for (const char* key : everyKey) {
        INFO(id << ", density " << int(density) << ", in " << key);
        check(piece(id, density, key));
      }
}

bool isHead(Glyph g) {
  return g == Glyph::headBlack || g == Glyph::headHalf || g == Glyph::headWhole || g == Glyph::headBlackHatched ||
         g == Glyph::headHalfHatched || g == Glyph::headWholeHatched;
}
bool isSign(Glyph g) {
  return g == Glyph::sharp || g == Glyph::flat || g == Glyph::natural || g == Glyph::doubleSharp ||
         g == Glyph::doubleFlat;
}

page::EngravingOptions plain() {
  page::EngravingOptions options;
  options.heading = {"Waltz", "lean", 92, "", "in C"};
  options.upperName = "melody";
  options.lowerName = "accompaniment";
  return options;
}

/// Twice the area that an outline fills, curves as fine polygons; holes turn the other way.
double inkOf(const page::Outline& outline) {
  double area = 0;
  page::Point from{}, start{};
  const auto edge = [&](page::Point to) {
    area += from.x * to.y - to.x * from.y;
    from = to;
  };
  for (const auto& piece : outline.pieces) {
    if (piece.kind == page::Outline::Kind::move) start = from = piece.to;
    if (piece.kind == page::Outline::Kind::line) edge(piece.to);
    if (piece.kind == page::Outline::Kind::close) edge(start);
    if (piece.kind != page::Outline::Kind::curve) continue;
    const page::Point a = from;
    for (int i = 1; i <= 32; ++i) {
      const double t = i / 32.0, u = 1 - t;
      edge({u * u * u * a.x + 3 * u * u * t * piece.a.x + 3 * u * t * t * piece.b.x + t * t * t * piece.to.x,
            u * u * u * a.y + 3 * u * u * t * piece.a.y + 3 * u * t * t * piece.b.y + t * t * t * piece.to.y});
    }
  }
  return std::abs(area);
}

}  // namespace

TEST_CASE("no two texts overlap and none leaves the page", "[page]") {
  forEveryPiece([](const std::vector<page::Bar>& bars) {
    const Sheet sheet = page::engrave(bars, plain());
    std::vector<std::pair<std::string, page::Box>> texts;
    for (const Mark& mark : sheet.marks)
      if (mark.kind == Mark::Kind::text) texts.emplace_back(mark.text, page::boxOf(mark));
    CHECK(texts.size() > 30);
    for (std::size_t i = 0; i < texts.size(); ++i) {
      const page::Box& a = texts[i].second;
      if (a.left < 0 || a.right > sheet.width || a.top < 0 || a.bottom > sheet.height)
        CHECK(texts[i].first == "inside the page");
      for (std::size_t k = i + 1; k < texts.size(); ++k)
        if (a.overlaps(texts[k].second)) CHECK(texts[i].first + " is clear of" == texts[k].first);
    }
  });
}

TEST_CASE("no text runs into notes, stems or rests", "[page]") {
  forEveryPiece([](const std::vector<page::Bar>& bars) {
    const Sheet sheet = page::engrave(bars, plain());
    std::size_t met = 0;
    for (const Mark& text : sheet.marks) {
      if (text.kind != Mark::Kind::text || text.style == page::Style::bold || text.text == "3") continue;
      for (const Mark& other : sheet.marks) {
        const bool stem = other.kind == Mark::Kind::line && other.thickness == page::grid::stem && other.a.y > 6;
        if ((other.kind == Mark::Kind::glyph && other.a.y > 6) || stem)
          met += page::boxOf(text).overlaps(page::boxOf(other)) ? 1 : 0;
      }
    }
    CHECK(met == 0);
  });
}

TEST_CASE("a head's middle lies at its true fraction of the bar, over its count", "[page]") {
  forEveryPiece([](const std::vector<page::Bar>& bars) {
    const Sheet sheet = page::engrave(bars, plain());
    std::map<std::uint64_t, const page::BarPlace*> places;
    for (const page::BarPlace& place : sheet.bars) places[place.ordinal] = &place;
    REQUIRE(sheet.bars.size() == bars.size());
    std::size_t looked = 0, off = 0, uncounted = 0;
    for (const page::HeadPlace& head : sheet.heads) {
      if (head.displaced || head.grace) continue;
      ++looked;
      const page::Bar& bar = bars[head.ordinal - bars.front().ordinal];
      const page::BarPlace& place = *places[head.ordinal];
      off += std::abs(head.middle.x - place.xOf(head.at, bar.length)) > pixel ? 1 : 0;
      if (head.at.value % bar.meter.beat().value != 0) continue;
      const bool counted = std::any_of(sheet.marks.begin(), sheet.marks.end(), [&](const Mark& m) {
        return m.kind == Mark::Kind::text && m.size == page::letters::count && std::abs(m.a.x - head.middle.x) < pixel;
      });
      uncounted += counted ? 0 : 1;
    }
    CHECK(looked > 50);
    CHECK(off == 0);
    CHECK(uncounted == 0);
  });
}

TEST_CASE("heads stand on lines and in spaces, and fill a space", "[page]") {
  const Sheet sheet = page::engrave(piece("waltz", Density::full), plain());
  for (const page::HeadPlace& head : sheet.heads) {
    const double steps = (head.middle.y - head.staffTop) * 2;
    CHECK(std::abs(steps - std::round(steps)) < 0.01);
  }
  for (const Glyph g : {Glyph::headBlack, Glyph::headHalf, Glyph::headWhole}) {
    const page::Box& box = page::boxOf(g);
    CHECK(std::abs(box.bottom - box.top - 1) < 0.15);
  }
}

TEST_CASE("an accidental stands left of its head and touches neither heads nor other signs", "[page]") {
  forEveryPiece([](const std::vector<page::Bar>& bars) {
    const Sheet sheet = page::engrave(bars, plain());
    std::vector<page::Box> heads, signs;
    for (const Mark& mark : sheet.marks) {
      if (mark.kind != Mark::Kind::glyph) continue;
      if (isHead(mark.glyph)) heads.push_back(page::boxOf(mark));
      if (isSign(mark.glyph)) signs.push_back(page::boxOf(mark));
    }
    std::size_t met = 0;
    for (std::size_t i = 0; i < signs.size(); ++i) {
      for (const page::Box& head : heads) met += signs[i].overlaps(head) ? 1 : 0;
      // The boxes of a signature's signs may cross: they are printed close, by rule.
      for (std::size_t k = i + 1; k < signs.size(); ++k) {
        const bool beside = std::abs((signs[i].left + signs[i].right) - (signs[k].left + signs[k].right)) > 0.9;
        met += signs[i].overlaps(signs[k]) && !beside ? 1 : 0;
      }
    }
    CHECK(met == 0);
  });
}

TEST_CASE("of a second the upper head is on the right of an up stem, the lower on the left of a down stem", "[page]") {
  page::Staff staff;
  page::Event event;
  event.length = quarter;
  for (const int step : {-9, -8, -6}) {  // A2 B2 D3: under the middle line of a bass staff, stem up
    page::Note note;
    note.step = step;
    event.notes.push_back(note);
  }
  staff.voices.push_back({{event}});
  auto columns = page::columnsOf(staff, page::shapeOf(page::StaffKind::lower));
  REQUIRE(columns.size() == 1);
  CHECK(columns[0].up);
  CHECK(columns[0].heads[0].dx == 0);
  CHECK(columns[0].heads[1].dx > 1);
  CHECK(columns[0].heads[2].dx == 0);
  for (page::Note& note : staff.voices[0].events[0].notes) note.step += 8;
  columns = page::columnsOf(staff, page::shapeOf(page::StaffKind::lower));
  CHECK_FALSE(columns[0].up);
  CHECK(columns[0].heads[0].dx < -1);
  CHECK(columns[0].heads[1].dx == 0);
}

TEST_CASE("stems are three and a half spaces and reach the middle line", "[page]") {
  page::Staff staff;
  for (const int step : {2, 10, 6, -5, 20}) {  // E4, F5, B4, far below, far above
    page::Event event;
    event.at = quarter * static_cast<std::int64_t>(staff.voices.empty() ? 0 : staff.voices[0].events.size());
    event.length = quarter;
    page::Note note;
    note.step = step;
    event.notes.push_back(note);
    if (staff.voices.empty()) staff.voices.emplace_back();
    staff.voices[0].events.push_back(event);
  }
  const auto columns = page::columnsOf(staff, page::shapeOf(page::StaffKind::upper));
  const auto stems = page::stemsOf(columns, std::vector<double>(columns.size(), 0), false);
  REQUIRE(stems.size() == 5);
  CHECK(stems[0].up);
  CHECK(stems[0].foot - stems[0].tip == Approx(3.5));
  CHECK_FALSE(stems[1].up);
  CHECK(stems[1].tip - stems[1].foot == Approx(3.5));
  CHECK_FALSE(stems[2].up);  // on the middle line: down
  CHECK(stems[3].tip == Approx(2));
  CHECK(stems[4].tip == Approx(2));
}

TEST_CASE("a beam leans with its notes, a space at most, and lies level over a hollow", "[page]") {
  CHECK(page::slantOf(2, 2, 1e9, true, 10) == 0);
  CHECK(page::slantOf(3, 2.5, 1e9, true, 10) == Approx(-0.25));
  CHECK(page::slantOf(4, 0, 1e9, true, 10) == Approx(-1));
  CHECK(page::slantOf(0, 4, -1e9, false, 10) == Approx(1));
  CHECK(page::slantOf(3, 2, 1, true, 10) == 0);  // a head between them is nearer the beam
}

TEST_CASE("the treble clef curls round G4, the bass clef's dots lie about F3", "[page]") {
  const Sheet sheet = page::engrave(piece("waltz", Density::lean), plain());
  std::vector<double> lines;
  for (const Mark& mark : sheet.marks)
    if (mark.kind == Mark::Kind::line && mark.token == page::Token::staff) lines.push_back(mark.a.y);
  REQUIRE(lines.size() >= 10);
  for (const Mark& mark : sheet.marks) {
    if (mark.kind != Mark::Kind::glyph) continue;
    if (mark.glyph == Glyph::trebleClef && mark.a.y < lines[4]) CHECK(mark.a.y == Approx(lines[3]));
    if (mark.glyph == Glyph::bassClef && mark.a.y < lines[9]) CHECK(mark.a.y == Approx(lines[6]));
  }
  const page::Box& treble = page::boxOf(Glyph::trebleClef);
  CHECK(treble.top < -4);    // above the staff
  CHECK(treble.bottom > 2);  // and below it
}

TEST_CASE("hatching keeps two thirds of a quarter's ink, and a half stays lighter than it", "[page]") {
  const double black = inkOf(page::outlineOf(Glyph::headBlack));
  CHECK(inkOf(page::outlineOf(Glyph::headBlackHatched)) >= black * 2 / 3);
  CHECK(inkOf(page::outlineOf(Glyph::headBlackHatched)) < black * 0.95);
  CHECK(inkOf(page::outlineOf(Glyph::headHalfHatched)) > inkOf(page::outlineOf(Glyph::headHalf)) * 1.02);
}

TEST_CASE("only the bar that sounds has coloured heads, and the playhead's band centres on its place", "[page]") {
  const auto bars = piece("waltz", Density::medium);
  page::EngravingOptions options;
  options.colour = page::EngravingOptions::Colour::sounding;
  options.playhead = page::EngravingOptions::Playhead{bars[2].ordinal, quarter};
  const Sheet sheet = page::engrave(bars, options);
  const auto place =
      std::find_if(sheet.bars.begin(), sheet.bars.end(), [&](const auto& p) { return p.ordinal == bars[2].ordinal; });
  std::size_t blue = 0, vermillion = 0, outside = 0, bands = 0;
  for (const Mark& mark : sheet.marks) {
    const bool melody = mark.token == page::Token::melody, ours = mark.token == page::Token::accompaniment;
    blue += melody ? 1 : 0;
    vermillion += ours ? 1 : 0;
    if (melody || ours)
      outside += mark.a.x < place->box.left || mark.a.x > place->box.right || mark.a.y > place->box.bottom + 3;
    if (ours) CHECK((mark.glyph == Glyph::headBlackHatched || mark.glyph == Glyph::headHalfHatched));
    CHECK_FALSE((mark.kind == Mark::Kind::text && (melody || ours)));
    if (mark.token != page::Token::band) continue;
    ++bands;
    CHECK((mark.a.x + mark.b.x) / 2 == Approx(place->xOf(quarter, bars[2].length)));
  }
  CHECK(blue > 0);
  CHECK(vermillion > 0);
  CHECK(outside == 0);
  CHECK(bands == 1);
}

TEST_CASE("systems are broken where their bars no longer fit, each bar once", "[page]") {
  const auto bars = piece("blues-shuffle", Density::full);
  for (const double width : {60.0, 90.0, 153.0, 240.0}) {
    page::EngravingOptions options;
    options.width = width;
    const Sheet sheet = page::engrave(bars, options);
    INFO("width " << width);
    CHECK(sheet.bars.size() == bars.size());
    std::map<std::size_t, int> inSystem;
    for (const page::BarPlace& place : sheet.bars) {
      ++inSystem[place.system];
      CHECK(place.box.right <= width);
    }
    for (const auto& [system, count] : inSystem) CHECK(count <= 4);
    if (width < 100) CHECK(inSystem.size() > 2);
  }
}

TEST_CASE("what random hands leave behind can be drawn without a text on another", "[page]") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    HandsOptions hands;
    hands.seconds = 15;
    hands.otherIdioms = false;
    hands.transport = seed % 2 == 0;
    Performance p = randomHands(seed, hands);
    const Idiom& i = idiom(seed % 2 == 0 ? "waltz" : "bossa-nova");
    p.score.with(i);
    page::Writer writer;
    for (const page::Told& told : toldOf(renderInBlocks(p.score.inputs(), {}, 48000, p.end), p.score, i))
      writer.tell(told);
    const auto bars = barsOf(writer);
    const Sheet sheet = page::engrave(bars, plain());
    std::size_t met = 0, outside = 0;
    for (std::size_t a = 0; a < sheet.marks.size(); ++a) {
      if (sheet.marks[a].kind != Mark::Kind::text) continue;
      const page::Box box = page::boxOf(sheet.marks[a]);
      outside += box.left < 0 || box.right > sheet.width + 2 ? 1 : 0;
      for (std::size_t b = a + 1; b < sheet.marks.size(); ++b)
        if (sheet.marks[b].kind == Mark::Kind::text && box.overlaps(page::boxOf(sheet.marks[b]))) {
          INFO(sheet.marks[a].text << " and " << sheet.marks[b].text);
          CHECK(met == 0);
          ++met;
        }
    }
    INFO("seed " << seed);
    CHECK(sheet.bars.size() == bars.size());
    CHECK(outside == 0);
  }
}

TEST_CASE("an empty page is an empty sheet", "[page]") {
  const Sheet sheet = page::engrave({}, plain());
  CHECK(sheet.marks.empty());
  CHECK(page::svgOf(sheet, 8, "").find("</svg>") != std::string::npos);
}
