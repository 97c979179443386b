#include <pugixml.hpp>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"
#include "plugin/commandline/picture.h"
#include "plugin/commandline/picture_notes.h"
#include "plugin/commandline/staff.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

TEST_CASE("a note stands on the staff where its name in the key says", "[commandline]") {
  // Spelling: REFERENCES section 2. Steps count from middle C.
  struct Row {
    const char* key;
    int note, step, alteration;
    bool accidental;
  };
  const Row table[] = {{"C", 60, 0, 0, false},       {"C", 66, 3, 1, true},       {"C", 70, 6, -1, true},
                       {"D", 66, 3, 1, false},       {"D", 65, 3, 0, true},       {"Bb", 70, 6, -1, false},
                       {"Bb", 71, 6, 0, true},       {"A minor", 68, 4, 1, true}, {"F", 43, -10, 0, false},
                       {"F# minor", 65, 2, 1, true}, {"Eb", 63, 2, -1, false},    {"C", 59, -1, 0, false}};
  for (const Row& row : table) {
    INFO(row.key << ", key " << row.note);
    const auto place = placeOf({static_cast<std::uint8_t>(row.note)}, *parseKey(row.key));
    CHECK(place.step == row.step);
    CHECK(place.alteration == row.alteration);
    CHECK(place.accidental == row.accidental);
  }
}

TEST_CASE("each key of the keyboard is spelt as itself in every key", "[commandline]") {
  constexpr int natural[] = {0, 2, 4, 5, 7, 9, 11};
  for (const char* name : {"C", "G", "D", "A", "E", "B", "F#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "A minor", "C minor",
                           "F# minor", "Bb minor", "G# minor"})
    for (int n = 21; n <= 108; ++n) {
      INFO(name << ", key " << n);
      const auto place = placeOf({static_cast<std::uint8_t>(n)}, *parseKey(name));
      const auto octave = floorDivide(place.step, 7);
      CHECK(60 + 12 * octave + natural[place.step - 7 * octave] + place.alteration == n);
    }
}

TEST_CASE("signatures have as many signs as the circle of fifths says", "[commandline]") {
  // REFERENCES section 2: C 0, G 1 ... F# 6 sharps; F 1 ... Db 5 flats.
  const std::pair<const char*, int> table[] = {
      {"C", 0},   {"G", 1},   {"D", 2},   {"A", 3},   {"E", 4},       {"B", 5},       {"F#", 6},       {"F", -1},
      {"Bb", -2}, {"Eb", -3}, {"Ab", -4}, {"Db", -5}, {"A minor", 0}, {"E minor", 1}, {"D minor", -1}, {"C# minor", 4}};
  for (const auto& [key, signs] : table) CHECK(signatureOf(*parseKey(key)) == signs);
}

TEST_CASE("a picture is good XML with every note, and tells the voices apart by shape and colour", "[commandline]") {
  static IdiomLibrary library({SEGUENTE_PATTERNS});
  std::vector<Fault> faults;
  const Scratch scratch;
  HearingOptions options;
  options.input = scratch.write("in.mid", twoBars(1, 480));
  const auto p = prepare(options, library.find("rocking-bass", faults));
  REQUIRE(p.good());
  const auto r = render(*p.value, 48000, 0);
  pugi::xml_document svg;
  REQUIRE(svg.load_string(drawPicture(*p.value, r, {}).c_str()));
  std::size_t blue = 0, held = 0, ours = 0, openBlue = 0, notes = 0;
  for (const auto head : svg.child("svg").children("ellipse")) {
    const std::string_view edge = head.attribute("stroke").value();
    blue += edge == "#0072B2" ? 1 : 0;
    held += edge == "#111111" ? 1 : 0;
    ours += edge == "#D55E00" ? 1 : 0;
    openBlue += edge == "#0072B2" && head.attribute("fill").value() == std::string_view("#FFFFFF") ? 1 : 0;
  }
  for (const OurEvent& e : r.ours) notes += e.kind == OutputKind::noteOn ? 1 : 0;
  CHECK(blue == 4 + 1);  // the legend has one of each
  CHECK(openBlue == 2);  // two quarters, a half and a whole
  CHECK(held == 6 + 1);
  CHECK(ours == notes + 1);
  std::string words;
  for (const auto text : svg.child("svg").children("text")) words += std::string(text.child_value()) + "|";
  for (const char* word : {"|C|", "|G7|", "|melody|", "|you hold|", "|it plays|", "|held|", "|accompaniment|", "|4|"}) {
    INFO(word << " in " << words);
    CHECK(words.find(word) != std::string::npos);
  }
}

TEST_CASE("a note's length is written as the nearest value", "[commandline]") {
  // Flags, heads, stems and dots of note values: common notation.
  struct Row {
    double quarters;
    int flags;
    bool open, stem, dot;
  };
  const Row table[] = {{0.25, 2, false, true, false}, {0.2, 2, false, true, false}, {0.5, 1, false, true, false},
                       {0.33, 1, false, true, false}, {0.75, 1, false, true, true}, {1, 0, false, true, false},
                       {1.5, 0, false, true, true},   {2, 0, true, true, false},    {1.95, 0, true, true, false},
                       {3, 0, true, true, true},      {4, 0, true, false, false},   {6, 0, true, false, true}};
  for (const Row& row : table) {
    INFO(row.quarters << " quarters");
    const NoteValue value = valueOf(row.quarters);
    CHECK(value.flags == row.flags);
    CHECK(value.open == row.open);
    CHECK(value.stem == row.stem);
    CHECK(value.dot == row.dot);
  }
}

TEST_CASE("a sign counts until the bar line, and a natural takes it back", "[commandline]") {
  // Common notation. F, F#, F#, F in C major, then F an octave higher; in G major F# needs none and F a natural.
  const auto signsOf = [](const char* key, std::initializer_list<int> notes) {
    BarSigns signs(*parseKey(key));
    std::string all;
    for (const int n : notes) {
      StaffPlace place = placeOf({static_cast<std::uint8_t>(n)}, *parseKey(key));
      signs.mark(place);
      all += !place.accidental ? '.' : place.alteration > 0 ? '#' : place.alteration < 0 ? 'b' : 'n';
    }
    return all;
  };
  CHECK(signsOf("C", {65, 66, 66, 65, 77, 65}) == ".#.n..");
  CHECK(signsOf("G", {66, 65, 65, 66}) == ".n.#");
  CHECK(signsOf("F", {70, 71, 70}) == ".nb");
}

TEST_CASE("a chord's tone is written as its degree, another note by the key", "[commandline]") {
  // REFERENCES section 2, "Spelling": Caug is C E G#; key 68 in F minor's neighbourhood would be Ab.
  Chord chord = *parseSymbol("Caug");
  const Key key = *parseKey("F");
  CHECK(placeOf({68}, key, nullptr).alteration == -1);
  CHECK(placeOf({68}, key, &chord).step == 4);
  CHECK(placeOf({68}, key, &chord).alteration == 1);
  CHECK(placeOf({70}, key, &chord).alteration == -1);
}

TEST_CASE("the last note of a piece has its own flag", "[commandline]") {
  static IdiomLibrary library({SEGUENTE_PATTERNS});
  std::vector<Fault> faults;
  const Scratch scratch;
  TrackBuilder track;
  addHead(track);
  track.event(0, {0x90, 48, 70}).event(0, {52, 70}).event(0, {55, 70});
  track.event(1440, {0x90, 72, 80}).event(1680, {72, 0});  // an eighth on four
  track.event(1920, {48, 0}).event(1920, {52, 0}).event(1920, {55, 0});
  HearingOptions options;
  options.input = scratch.write("in.mid", midiFile(0, 480, {track.chunk()}));
  const auto p = prepare(options, library.find("held-chords", faults));
  REQUIRE(p.good());
  pugi::xml_document svg;
  REQUIRE(svg.load_string(drawPicture(*p.value, render(*p.value, 48000, 0), {}).c_str()));
  int flags = 0;
  for (const auto path : svg.child("svg").children("path"))
    flags += path.attribute("stroke").value() == std::string_view("#0072B2") &&
                     path.attribute("stroke-width").value() == std::string_view("1.6")
                 ? 1
                 : 0;
  CHECK(flags == 1);
}
