// The table of chord types itself, against tests/reference/chords/chord_types.json (42 rows on which tonal 6.4.2,
// chord-symbol 4.0.0 and daccord 1.1.0 agree as far as they can read them; kinds from the MusicXML 4.0 schema).
#include <set>

#include "dsp/chord_types.h"
#include "tests/harmony/reference.h"

namespace seguente {
namespace {
std::string textOf(Degree degree) {
  std::string text(static_cast<std::size_t>(std::abs(degree.alteration)), degree.alteration < 0 ? 'b' : '#');
  return text + std::to_string(degree.number);
}
}  // namespace

TEST_CASE("The table of chord types says what the published table says", "[harmony][table]") {
  const auto file = reference::load("chords/chord_types.json");
  const auto& rows = file.at("types");
  REQUIRE(rows.size() == chordTypes.size());
  for (std::size_t i = 0; i < chordTypes.size(); ++i) {
    const auto& row = chordTypes[i];
    const auto& published = rows.at(i);
    INFO(row.id);
    CHECK(row.id == published.at("id").get<std::string>());
    CHECK(row.kind == published.at("musicxml_kind").get<std::string>());
    CHECK(row.kindDegree == published.at("musicxml_degree").get<std::string>());
    std::vector<std::string> degrees, symbols;
    std::vector<int> semitones, pitchClasses;
    for (std::size_t d = 0; d < row.count; ++d) {
      degrees.push_back(textOf(row.degrees[d]));
      semitones.push_back(row.semitones[d]);
    }
    for (int s = 0; s < 12; ++s)
      if (row.has(s)) pitchClasses.push_back(s);
    for (std::size_t s = 0; s < row.symbolCount; ++s) symbols.emplace_back(row.symbols[s]);
    CHECK(degrees == published.at("degrees").get<std::vector<std::string>>());
    CHECK(semitones == published.at("semitones").get<std::vector<int>>());
    CHECK(pitchClasses == published.at("pcs").get<std::vector<int>>());
    CHECK(symbols == published.at("symbols").get<std::vector<std::string>>());
  }
}

TEST_CASE("The table has no twins, its tones ascend, and each row has a symbol", "[harmony][table]") {
  std::set<std::string_view> ids, symbols;
  std::set<std::uint16_t> masks;
  for (const auto& row : chordTypes) {
    INFO(row.id);
    CHECK(ids.insert(row.id).second);
    CHECK(masks.insert(row.mask).second);
    CHECK(row.symbolCount >= 1);
    for (std::size_t s = 0; s < row.symbolCount; ++s) CHECK(symbols.insert(row.symbols[s]).second);
    CHECK(row.semitones[0] == 0);
    for (std::size_t d = 1; d < row.count; ++d) CHECK(row.semitones[d] > row.semitones[d - 1]);
  }
}

TEST_CASE("The rows that rules speak of by name are where the rules look for them", "[harmony][table]") {
  using namespace chordTypeIds;
  CHECK(chordTypeOf(major).id == "major");
  CHECK(chordTypeOf(minor).id == "minor");
  CHECK(chordTypeOf(diminished).id == "diminished");
  CHECK(chordTypeOf(augmented).id == "augmented");
  CHECK(chordTypeOf(suspendedSecond).id == "suspended-second");
  CHECK(chordTypeOf(suspendedFourth).id == "suspended-fourth");
  CHECK(chordTypeOf(power).id == "power");
  CHECK(chordTypeOf(majorSixth).id == "major-sixth");
  CHECK(chordTypeOf(dominant).id == "dominant");
  CHECK(chordTypeOf(majorSeventh).id == "major-seventh");
  CHECK(chordTypeOf(minorSeventh).id == "minor-seventh");
  CHECK(chordTypeOf(halfDiminished).id == "half-diminished");
  CHECK(chordTypeOf(diminishedSeventh).id == "diminished-seventh");
  CHECK(chordTypeOf(dominantFlatFive).id == "dominant-flat-five");
}

TEST_CASE("Every way of holding a chord is found again by its tones", "[harmony][table]") {
  // The slow and obvious version: walk the table for each of the 2,048 sets of tones above a root.
  int whole = 0, withoutFifth = 0, all = 0;
  for (unsigned m = 1; m < 4096; m += 2) {
    INFO("tones above the root, as bits: " << m);
    int wholeHere = 0, withoutFifthHere = 0;
    for (const auto& row : chordTypes) {
      const auto degrees = std::vector<Degree>(row.degrees.begin(), row.degrees.begin() + row.count);
      const bool fifth = std::find(degrees.begin(), degrees.end(), Degree{5, 0}) != degrees.end();
      wholeHere += row.mask == m ? 1 : 0;
      withoutFifthHere += fifth && row.count > 2 && (row.mask & ~(1u << 7)) == m ? 1 : 0;
    }
    for (const auto& pattern : patternsOf(static_cast<std::uint16_t>(m))) {
      CHECK(pattern.mask == m);
      wholeHere -= pattern.form == Form::complete ? 1 : 0;
      withoutFifthHere -= pattern.form == Form::noFifth ? 1 : 0;
      whole += pattern.form == Form::complete ? 1 : 0;
      withoutFifth += pattern.form == Form::noFifth ? 1 : 0;
      ++all;
    }
    CHECK(wholeHere == 0);
    CHECK(withoutFifthHere == 0);
  }
  CHECK(whole == 42);
  CHECK(withoutFifth == 32);  // ten types have no plain fifth, or nothing but one
  CHECK(all == 42 + 32 + 7);  // and seven without a third or with root and seventh only (dsp/chord_types.cpp)
}

}  // namespace seguente
