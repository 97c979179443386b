#include "dsp/harmony.h"
#include "plugin/page/spelling.h"
#include "plugin/page/writer.h"
#include "tests/catch.h"

using namespace seguente;
using namespace seguente::page;

namespace {

NoteNumber k(int n) { return {static_cast<std::uint8_t>(n)}; }

std::string signsOf(const char* key, std::initializer_list<int> notes) {
  BarSigns signs(*parseKey(key));
  std::string all;
  for (const int n : notes) {
    Note note;
    const Place place = placeOf(k(n), *parseKey(key));
    note.step = place.step;
    note.alteration = place.alteration;
    signs.mark(note, false);
    all += !note.sign ? '.' : note.alteration > 0 ? '#' : note.alteration < 0 ? 'b' : 'n';
  }
  return all;
}

}  // namespace

TEST_CASE("a note stands on the staff where its name in the key says", "[page]") {
  // REFERENCES section 2, "Spelling". Steps count from middle C.
  struct Row {
    const char* key;
    int note, step, alteration;
  };
  const Row table[] = {{"C", 60, 0, 0},   {"C", 66, 3, 1},   {"C", 70, 6, -1},       {"D", 66, 3, 1},
                       {"D", 65, 3, 0},   {"Bb", 70, 6, -1}, {"Bb", 71, 6, 0},       {"A minor", 68, 4, 1},
                       {"F", 43, -10, 0}, {"Eb", 63, 2, -1}, {"F# minor", 65, 2, 1}, {"C", 59, -1, 0}};
  for (const Row& row : table) {
    INFO(row.key << ", key " << row.note);
    const Place place = placeOf(k(row.note), *parseKey(row.key));
    CHECK(place.step == row.step);
    CHECK(place.alteration == row.alteration);
  }
}

TEST_CASE("each key of the keyboard is spelt as itself in every key", "[page]") {
  constexpr int natural[] = {0, 2, 4, 5, 7, 9, 11};
  for (const char* name : {"C", "G", "D", "A", "E", "B", "F#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "A minor", "C minor",
                           "F# minor", "Bb minor", "G# minor"})
    for (int n = 21; n <= 107; ++n)
      for (const int next : {n, n + 1, n - 1}) {
        INFO(name << ", key " << n << " to " << next);
        const Place place = placeOf(k(n), *parseKey(name), nullptr, k(next));
        const auto octave = floorDivide(place.step, 7);
        CHECK(60 + 12 * octave + natural[place.step - 7 * octave] + place.alteration == n);
      }
}

TEST_CASE("signatures have as many signs as the circle of fifths says", "[page]") {
  const std::pair<const char*, int> table[] = {
      {"C", 0},   {"G", 1},   {"D", 2},   {"A", 3},   {"E", 4},       {"B", 5},       {"F#", 6},       {"F", -1},
      {"Bb", -2}, {"Eb", -3}, {"Ab", -4}, {"Db", -5}, {"A minor", 0}, {"E minor", 1}, {"D minor", -1}, {"C# minor", 4}};
  for (const auto& [key, signs] : table) CHECK(signatureOf(*parseKey(key)) == signs);
}

TEST_CASE("a sign counts until the bar line, and a natural takes it back", "[page]") {
  // F, F#, F#, F in C major, then F an octave higher; in G major F# needs none and F a natural.
  CHECK(signsOf("C", {65, 66, 66, 65, 77, 65}) == ".#.n..");
  CHECK(signsOf("G", {66, 65, 65, 66}) == ".n.#");
  CHECK(signsOf("F", {70, 71, 70}) == ".nb");
}

TEST_CASE("a note tied over the bar line needs no sign, and the next one in that bar does", "[page]") {
  BarSigns signs(*parseKey("C"));
  Note tied, next;
  tied.step = next.step = 3;
  tied.alteration = next.alteration = 1;
  signs.mark(tied, true);
  signs.mark(next, false);
  CHECK_FALSE(tied.sign);
  CHECK(next.sign);
}

TEST_CASE("a chord's tone is written as its degree, another note by the key", "[page]") {
  // Caug is C E G#; key 68 in the neighbourhood of F would be Ab.
  const Chord chord = *parseSymbol("Caug");
  const Key key = *parseKey("F");
  CHECK(placeOf(k(68), key, nullptr, k(68)).alteration == -1);
  CHECK(placeOf(k(68), key, &chord, k(68)) == Place{4, 1});
}

TEST_CASE("a chromatic note is raised on its way up and lowered on its way down", "[page]") {
  const Key key = *parseKey("C");
  CHECK(placeOf(k(63), key, nullptr, k(64)) == Place{1, 1});   // D# to E
  CHECK(placeOf(k(63), key, nullptr, k(62)) == Place{2, -1});  // Eb to D
  CHECK(placeOf(k(68), key, nullptr, k(69)) == Place{4, 1});   // G# to A
  CHECK(placeOf(k(68), key, nullptr, k(67)) == Place{5, -1});  // Ab to G
}

TEST_CASE("symbols and numerals are printed with the signs of music", "[page]") {
  const auto symbol = [](const char* text) { return printedSymbol(*parseSymbol(text)); };
  CHECK(symbol("Bb7") == "B\u266D7");
  CHECK(symbol("F#m7b5") == "F\u266Fm7\u266D5");
  CHECK(symbol("C/E") == "C");
  CHECK(printedNumeral("bVII7") == "\u266DVII7");
  CHECK(printedNumeral("#iv") == "\u266Fiv");
  CHECK(printedNumeral("V7/ii") == "V7/ii");
}
