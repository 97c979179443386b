#include <pugixml.hpp>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"
#include "plugin/commandline/picture.h"
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
  std::size_t blue = 0, open = 0, hatched = 0, notes = 0;
  for (const auto head : svg.child("svg").children("ellipse")) {
    const std::string_view fill = head.attribute("fill").value();
    blue += fill == "#0072B2" ? 1 : 0;
    open += fill == "#FFFFFF" ? 1 : 0;
    hatched += fill == "url(#hatch)" ? 1 : 0;
  }
  for (const OurEvent& e : r.ours) notes += e.kind == OutputKind::noteOn ? 1 : 0;
  CHECK(blue == 4 + 1);  // the legend has one of each
  CHECK(open == 6 + 1);
  CHECK(hatched == notes + 1);
  std::string words;
  for (const auto text : svg.child("svg").children("text")) words += std::string(text.child_value()) + "|";
  for (const char* word : {"|C|", "|G7|", "|melody|", "|you hold|", "|it plays|", "|held|", "|accompaniment|", "|4|"}) {
    INFO(word << " in " << words);
    CHECK(words.find(word) != std::string::npos);
  }
}
