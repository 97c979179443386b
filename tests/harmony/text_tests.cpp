// Spelling, symbols, numerals, and reading them back. Sources: REFERENCES section 2 "Spelling" and "Numerals"
// (diatonic sets verified with tonal 6.4.2), chord_types.json for the symbols; else common practice, no source.
#include "dsp/chord_types.h"
#include "tests/harmony/reference.h"

namespace seguente {
using reference::key;
using reference::named;
using Names = std::vector<std::string>;

namespace {
const Names letters{"C", "D", "E", "F", "G", "A", "B"};

std::string symbol(const Chord& chord) { return std::string(symbolOf(chord).view()); }

/// The numeral of a chord symbol in a key, spelt by us.
std::string numeral(std::string_view text, std::string_view inKey) {
  auto chord = parseSymbol(text).value();
  const auto k = key(inKey);
  spell(chord, k);
  return std::string(numeralOf(chord, k).view());
}

/// A root as pitch class and type, spelt in a key.
std::string spelled(int pitchClass, std::string_view tail, std::string_view inKey) {
  auto chord = makeChord(PitchClass::of(pitchClass), chordTypeNamed(tail).value(), PitchClass::of(pitchClass));
  spell(chord, key(inKey));
  return symbol(chord);
}

Names tonesOf(std::string_view text) {
  const auto chord = parseSymbol(text).value();
  Names names;
  for (std::size_t i = 0; i < chord.count; ++i) names.emplace_back(nameOf(spellTone(chord, i)).view());
  return names;
}
}  // namespace

TEST_CASE("Every symbol of the table is read over every root, with the signs of keyboard and print",
          "[harmony][text]") {
  const auto file = reference::load("chords/chord_types.json");
  const std::pair<std::string, std::string> signs[] = {
      {"", ""}, {"#", "#"}, {"b", "b"}, {"#", "\u266f"}, {"b", "\u266d"}};
  int read = 0;
  for (const auto& type : file.at("types"))
    for (const std::string tail : type.at("symbols"))
      for (const auto& letter : letters)
        for (const auto& [plain, sign] : signs) {
          const auto text = letter + sign + tail;
          INFO(text);
          const auto chord = parseSymbol(text);
          REQUIRE(chord.has_value());
          CHECK(chordTypeOf(chord->type).id == type.at("id").get<std::string>());
          CHECK(chord->root == reference::pitchClass(letter + plain));
          CHECK(chord->bass == chord->root);
          CHECK(nameOf(chord->rootSpelling).view() == letter + plain);
          ++read;
        }
  CHECK(read == 59 * 7 * 5);
}

TEST_CASE("A symbol that we write is read back as the same chord, over every bass", "[harmony][text]") {
  for (int root = 0; root < 12; ++root)
    for (std::uint8_t type = 0; type < chordTypeCount; ++type)
      for (int bass = 0; bass < 12; ++bass)
        for (const auto* in : {"", "Eb", "F# minor"}) {
          auto chord = makeChord(PitchClass::of(root), ChordTypeId{type}, PitchClass::of(bass));
          spell(chord, key(in));
          const auto text = symbol(chord);
          INFO(text);
          const auto back = parseSymbol(text);
          REQUIRE(back.has_value());
          CHECK(*back == chord);
          CHECK(back->rootSpelling == chord.rootSpelling);
          CHECK(back->bassSpelling == chord.bassSpelling);
          CHECK(symbol(*back) == text);
        }
}

TEST_CASE("Other ways of writing a chord are read as well", "[harmony][text]") {
  // common practice, no source
  const auto same = [](std::string_view a, std::string_view b) {
    INFO(std::string(a));
    const auto first = parseSymbol(a), second = parseSymbol(b);
    REQUIRE((first.has_value() && second.has_value()));
    CHECK(*first == *second);
  };
  same("Cmin7", "Cm7");
  same("C\u03947", "Cmaj7");
  same("C\u00f8", "Cm7b5");
  same("C\u00b07", "Cdim7");
  same("C7(b9)", "C7b9");
  same("Cm(maj7)", "CmMaj7");
  same("Cm7(\u266d5)", "Cm7b5");
  same("C7alt", "C7#5#9");  // REFERENCES: tonal reads C7alt as C E G# Bb D#
  same(" F / C ", "F/C");
  same("Cm7b5/Gb", "Cm7b5/Gb");
}

TEST_CASE("A slash names the bass, and a six-nine chord has its own", "[harmony][text]") {
  const auto half = parseSymbol("F#m7b5/C");
  REQUIRE(half.has_value());
  CHECK(half->root == PitchClass{6});
  CHECK(half->bass == PitchClass{0});
  CHECK(chordTypeOf(half->type).id == "half-diminished");
  CHECK(symbol(*half) == "F#m7b5/C");
  CHECK(parseSymbol("C6/9").value().bass == PitchClass{0});
  CHECK(parseSymbol("C6/9/E").value().bass == PitchClass{4});
  CHECK(parseSymbol("C6/E").value().bass == PitchClass{4});
  CHECK(parseSymbol("C/D").value().held.has(PitchClass{2}));  // a foreign bass sounds too
}

TEST_CASE("N.C. is no chord", "[harmony][text]") {
  for (const auto* text : {"N.C.", "NC", "N.C"}) {
    REQUIRE(parseSymbol(text).has_value());
    CHECK(parseSymbol(text)->none());
  }
  CHECK(symbol(Chord{}) == "N.C.");
  CHECK(qualityOf(Chord{}) == "none");
}

TEST_CASE("What is no chord symbol is refused", "[harmony][text]") {
  for (const auto* text : {"", " ", "H", "c", "Hm7", "Cfoo", "C/", "C/H", "C7/", "Cmaj7/E7", "C###", "Cbbb", "7", "/C",
                           "C//E", "C 7 x", "\u266f", "Cm7b5b5", "\xff\xfe"}) {
    INFO(text);
    CHECK_FALSE(parseSymbol(text).has_value());
  }
  CHECK_FALSE(parseSymbol(std::string(5000, 'C')).has_value());
}

TEST_CASE("Keys are read as musicians write them", "[harmony][text]") {
  const auto read = [](std::string_view text) { return std::string(nameOf(key(text)).view()); };
  CHECK(read("C") == "C major");
  CHECK(read("Bb") == "Bb major");
  CHECK(read("F# minor") == "F# minor");
  CHECK(read("Am") == "A minor");
  CHECK(read("c minor") == "C minor");
  CHECK(read("E\u266d major") == "Eb major");
  CHECK(read("G#m") == "G# minor");
  CHECK(read("bb min") == "Bb minor");
  CHECK(read("g") == "G major");
  CHECK(nameOf(Key{}).view().empty());
  for (const auto* text : {"", "H", "C dorian", "C7", "G# major", "Fb", "D#", "C ma jor"}) {  // a signature has seven
    INFO(text);
    CHECK_FALSE(parseKey(text).has_value());
  }
}

TEST_CASE("The triads and sevenths of a major scale have their numerals", "[harmony][text]") {
  // REFERENCES: Cmaj7 Dm7 Em7 Fmaj7 G7 Am7 Bm7b5; lower case for minor is ours
  const Names triads{"C", "Dm", "Em", "F", "G", "Am", "Bdim"};
  const Names sevenths{"Cmaj7", "Dm7", "Em7", "Fmaj7", "G7", "Am7", "Bm7b5"};
  const Names numerals{"I", "ii", "iii", "IV", "V", "vi", "viio"};
  const Names seventhNumerals{"Imaj7", "ii7", "iii7", "IVmaj7", "V7", "vi7", "vii\u00f87"};
  for (std::size_t i = 0; i < 7; ++i) {
    CHECK(numeral(triads[i], "C") == numerals[i]);
    CHECK(numeral(sevenths[i], "C") == seventhNumerals[i]);
  }
  CHECK(numeral("C#m", "B") == "ii");
  CHECK(numeral("Eb7", "Ab") == "V7");
  CHECK(numeral("Caug", "F") == "V+");
  CHECK(numeral("Gsus4", "C") == "Vsus4");
  CHECK(numeral("C/E", "C") == "I");  // inversions are not shown
}

TEST_CASE("The chords of a minor key have their numerals, the leading tone raised", "[harmony][text]") {
  // REFERENCES, A harmonic minor: AmMaj7 Bm7b5 C+maj7 Dm7 E7 Fmaj7 G#o7
  CHECK(numeral("Am", "Am") == "i");
  CHECK(numeral("AmMaj7", "Am") == "imaj7");
  CHECK(numeral("Bm7b5", "Am") == "ii\u00f87");
  CHECK(numeral("C", "Am") == "III");
  CHECK(numeral("Cmaj7#5", "Am") == "III+maj7");
  CHECK(numeral("Dm7", "Am") == "iv7");
  CHECK(numeral("E7", "Am") == "V7");
  CHECK(numeral("Em", "Am") == "v");
  CHECK(numeral("Fmaj7", "Am") == "VImaj7");
  CHECK(numeral("G", "Am") == "VII");
  CHECK(numeral("G#dim7", "Am") == "viio7");
  CHECK(numeral("Bb", "Am") == "bII");
  CHECK(numeral("D", "Am") == "IV");               // dorian
  CHECK(numeral("F#m7b5", "Am") == "#vi\u00f87");  // raised sixth
}

TEST_CASE("Borrowed chords carry a flat, applied dominants name their aim", "[harmony][text]") {
  CHECK(numeral("Eb", "C") == "bIII");  // REFERENCES: bIII = Eb, bVII = Bb in C
  CHECK(numeral("Bb", "C") == "bVII");
  CHECK(numeral("Ab", "C") == "bVI");
  CHECK(numeral("Fm", "C") == "iv");
  CHECK(numeral("A7", "C") == "V7/ii");  // REFERENCES: A7 in C = V7/ii
  CHECK(numeral("B7", "C") == "V7/iii");
  CHECK(numeral("D7", "C") == "V7/V");
  CHECK(numeral("D", "C") == "V/V");
  CHECK(numeral("E7", "C") == "V7/vi");
  CHECK(numeral("A7b9", "C") == "V7b9/ii");
  CHECK(numeral("C7", "C") == "I7");  // blues: I7 IV7 V7, common practice
  CHECK(numeral("F7", "C") == "IV7");
  CHECK(numeral("A7", "Am") == "V7/iv");
  CHECK(numeral("B7", "Am") == "V7/V");
  CHECK(numeral("C7", "Am") == "V7/VI");
  CHECK(numeral("Db7", "C") == "bII7");
  CHECK(numeral("F#dim7", "C") == "#ivo7");  // REFERENCES: leading-tone chords as #iv, #i
  CHECK(numeral("C#dim7", "C") == "#io7");
  CHECK(numeral("G7", "").empty());
  CHECK(numeral("N.C.", "C").empty());
}

TEST_CASE("Roots take flats in flat keys and sharps in sharp keys", "[harmony][text]") {
  // REFERENCES section 2 "Spelling": diatonic sets from tonal's Key
  const std::pair<std::string, Names> scales[] = {{"C", {"C", "D", "E", "F", "G", "A", "B"}},
                                                  {"G", {"G", "A", "B", "C", "D", "E", "F#"}},
                                                  {"D", {"D", "E", "F#", "G", "A", "B", "C#"}},
                                                  {"A", {"A", "B", "C#", "D", "E", "F#", "G#"}},
                                                  {"E", {"E", "F#", "G#", "A", "B", "C#", "D#"}},
                                                  {"B", {"B", "C#", "D#", "E", "F#", "G#", "A#"}},
                                                  {"F#", {"F#", "G#", "A#", "B", "C#", "D#", "E#"}},
                                                  {"F", {"F", "G", "A", "Bb", "C", "D", "E"}},
                                                  {"Bb", {"Bb", "C", "D", "Eb", "F", "G", "A"}},
                                                  {"Eb", {"Eb", "F", "G", "Ab", "Bb", "C", "D"}},
                                                  {"Ab", {"Ab", "Bb", "C", "Db", "Eb", "F", "G"}},
                                                  {"Db", {"Db", "Eb", "F", "Gb", "Ab", "Bb", "C"}},
                                                  {"Gb", {"Gb", "Ab", "Bb", "Cb", "Db", "Eb", "F"}},
                                                  {"D minor", {"D", "E", "F", "G", "A", "Bb", "C", "C#"}},
                                                  {"F# minor", {"F#", "G#", "A", "B", "C#", "D", "E", "E#"}},
                                                  {"Eb minor", {"Eb", "F", "Gb", "Ab", "Bb", "Cb", "Db", "D"}},
                                                  {"G# minor", {"G#", "A#", "B", "C#", "D#", "E", "F#"}},
                                                  {"A minor", {"A", "B", "C", "D", "E", "F", "G", "G#"}}};
  for (const auto& [name, notes] : scales)
    for (const auto& note : notes) {
      INFO(note << " in " << name);
      CHECK(spelled(reference::pitchClass(note).value, "", name) == note);
    }
}

TEST_CASE("Chromatic roots are flat degrees, leading-tone chords raised ones", "[harmony][text]") {
  CHECK(spelled(1, "", "C") == "Db");
  CHECK(spelled(3, "", "C") == "Eb");
  CHECK(spelled(6, "", "C") == "F#");
  CHECK(spelled(8, "", "C") == "Ab");
  CHECK(spelled(10, "7", "C") == "Bb7");
  CHECK(spelled(1, "dim7", "C") == "C#dim7");
  CHECK(spelled(6, "m7b5", "C") == "F#m7b5");
  CHECK(spelled(8, "dim", "C") == "G#dim");
  CHECK(spelled(5, "", "E") == "F");           // bII of E
  CHECK(spelled(4, "dim7", "Eb") == "Edim7");  // #i of Eb
  CHECK(spelled(2, "", "Gb") == "D");          // bVI would be Ebb: written plainly
}

TEST_CASE("Without a key a root is spelt with the fewest accidentals", "[harmony][text]") {
  // common practice, no source
  CHECK(spelled(1, "", "") == "Db");
  CHECK(spelled(1, "m", "") == "C#m");
  CHECK(spelled(3, "", "") == "Eb");
  CHECK(spelled(3, "m", "") == "Ebm");
  CHECK(spelled(6, "", "") == "F#");
  CHECK(spelled(8, "", "") == "Ab");
  CHECK(spelled(8, "m", "") == "G#m");
  CHECK(spelled(10, "m", "") == "Bbm");
}

TEST_CASE("A chord's tones are spelt degree by degree from the root's letter", "[harmony][text]") {
  CHECK(tonesOf("Cm") == Names{"C", "Eb", "G"});
  CHECK(tonesOf("Cdim7") == Names{"C", "Eb", "Gb", "Bbb"});  // REFERENCES: dim7 of C = Bbb
  CHECK(tonesOf("F#7") == Names{"F#", "A#", "C#", "E"});
  CHECK(tonesOf("Eaug") == Names{"E", "G#", "B#"});
  CHECK(tonesOf("C7#9") == Names{"C", "E", "G", "Bb", "D#"});
  CHECK(tonesOf("Db13") == Names{"Db", "F", "Ab", "Cb", "Eb", "Bb"});
  CHECK(tonesOf("Abm") == Names{"Ab", "Cb", "Eb"});
  CHECK(named({"A", "C", "F#"}, "G") == "F#dim/A");
  CHECK(named({"Gb", "C", "Eb", "A"}, "") == "F#dim7");
  CHECK(named({"A", "C#", "F#"}, "E") == "F#m/A");
  CHECK(named({"C", "Eb", "Ab"}, "Eb") == "Ab/C");
  CHECK(named({"G#", "G", "B", "D"}, "D") == "G/G#");  // a foreign bass is spelt by the key, #IV here
  CHECK(named({"G#", "G", "B", "D"}) == "G/Ab");       // and without a key by its distance from the root
}

TEST_CASE("Kinds are the words of MusicXML", "[harmony][text]") {
  // chord_types.json, kinds from the MusicXML 4.0 schema
  CHECK(qualityOf(parseSymbol("G7").value()) == "dominant");
  CHECK(qualityOf(parseSymbol("Cmaj7/E").value()) == "major-seventh");
  CHECK(qualityOf(parseSymbol("CmMaj7").value()) == "major-minor");
  CHECK(qualityOf(parseSymbol("Bm7b5").value()) == "half-diminished");
  CHECK(qualityOf(parseSymbol("C5").value()) == "power");
}

}  // namespace seguente
