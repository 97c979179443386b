#include "dsp/chord_types.h"

#include <algorithm>

namespace seguente {
namespace {

constexpr int semitonesOf(int number) {
  constexpr int above[14] = {0, 0, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19, 21};
  return above[number];
}

/// Reads "1 b3 5 b7" into degrees, semitones and mask.
constexpr void readDegrees(std::string_view text, ChordType& row) {
  std::size_t at = 0;
  while (at < text.size()) {
    Degree degree{0, 0};
    for (; text[at] == 'b' || text[at] == '#'; ++at)
      degree.alteration = static_cast<std::int8_t>(degree.alteration + (text[at] == 'b' ? -1 : 1));
    for (; at < text.size() && text[at] != ' '; ++at)
      degree.number = static_cast<std::uint8_t>(degree.number * 10 + (text[at] - '0'));
    while (at < text.size() && text[at] == ' ') ++at;
    const int semitones = semitonesOf(degree.number) + degree.alteration;
    row.degrees[row.count] = degree;
    row.semitones[row.count] = static_cast<std::uint8_t>(semitones);
    row.mask = static_cast<std::uint16_t>(row.mask | (1u << (semitones % 12)));
    ++row.count;
  }
}

constexpr ChordType row(std::string_view id, std::string_view degrees, std::string_view kind,
                        std::string_view kindDegree, std::array<std::string_view, 3> symbols, int symbolCount,
                        std::string_view numeral, int rarity) {
  ChordType type;
  type.id = id;
  readDegrees(degrees, type);
  type.kind = kind;
  type.kindDegree = kindDegree;
  type.symbols = symbols;
  type.symbolCount = static_cast<std::uint8_t>(symbolCount);
  type.numeral = numeral;
  type.rarity = static_cast<std::uint8_t>(rarity);
  return type;
}

// clang-format off
constexpr std::array<ChordType, chordTypeCount> table{{
    row("major",                          "1 3 5",           "major",              "", {"", "M", "maj"}, 3,    "", 0),
    row("minor",                          "1 b3 5",          "minor",              "", {"m", "min", "-"}, 3,   "", 0),
    row("diminished",                     "1 b3 b5",         "diminished",         "", {"dim", "o"}, 2,        "o", 8),
    row("augmented",                      "1 3 #5",          "augmented",          "", {"aug", "+"}, 2,        "+", 10),
    row("suspended-second",               "1 2 5",           "suspended-second",   "", {"sus2"}, 1,            "sus2", 14),
    row("suspended-fourth",               "1 4 5",           "suspended-fourth",   "", {"sus4", "sus"}, 2,     "sus4", 10),
    row("power",                          "1 5",             "power",              "", {"5"}, 1,               "5", 4),
    row("major-sixth",                    "1 3 5 6",         "major-sixth",        "", {"6", "M6"}, 2,         "6", 14),
    row("minor-sixth",                    "1 b3 5 6",        "minor-sixth",        "", {"m6", "-6"}, 2,        "6", 16),
    row("six-nine",                       "1 3 5 6 9",       "major-sixth",        "add 9", {"6/9", "69"}, 2,  "6/9", 22),
    row("minor-six-nine",                 "1 b3 5 6 9",      "minor-sixth",        "add 9", {"m6/9", "m69"}, 2, "6/9", 26),
    row("dominant",                       "1 3 5 b7",        "dominant",           "", {"7"}, 1,               "7", 3),
    row("major-seventh",                  "1 3 5 7",         "major-seventh",      "", {"maj7", "M7"}, 2,      "maj7", 5),
    row("minor-seventh",                  "1 b3 5 b7",       "minor-seventh",      "", {"m7", "-7"}, 2,        "7", 6),
    row("minor-major-seventh",            "1 b3 5 7",        "major-minor",        "", {"mMaj7", "mM7"}, 2,    "maj7", 20),
    row("half-diminished",                "1 b3 b5 b7",      "half-diminished",    "", {"m7b5"}, 1,            "\u00f87", 10),
    row("diminished-seventh",             "1 b3 b5 bb7",     "diminished-seventh", "", {"dim7", "o7"}, 2,      "o7", 10),
    row("augmented-seventh",              "1 3 #5 b7",       "augmented-seventh",  "", {"7#5", "+7"}, 2,       "+7", 18),
    row("augmented-major-seventh",        "1 3 #5 7",        "major-seventh",      "alter 5 +1", {"maj7#5"}, 1, "+maj7", 26),
    row("dominant-flat-five",             "1 3 b5 b7",       "dominant",           "alter 5 -1", {"7b5"}, 1,   "7b5", 20),
    row("dominant-suspended-fourth",      "1 4 5 b7",        "suspended-fourth",   "add b7", {"7sus4", "7sus"}, 2, "7sus4", 12),
    row("add-nine",                       "1 3 5 9",         "major",              "add 9", {"add9"}, 1,        "add9", 16),
    row("minor-add-nine",                 "1 b3 5 9",        "minor",              "add 9", {"madd9"}, 1,       "add9", 18),
    row("add-eleven",                     "1 3 5 11",        "major",              "add 11", {"add11"}, 1,      "add11", 30),
    row("dominant-ninth",                 "1 3 5 b7 9",      "dominant-ninth",     "", {"9"}, 1,               "9", 10),
    row("major-ninth",                    "1 3 5 7 9",       "major-ninth",        "", {"maj9"}, 1,            "maj9", 12),
    row("minor-ninth",                    "1 b3 5 b7 9",     "minor-ninth",        "", {"m9"}, 1,              "9", 12),
    row("minor-major-ninth",              "1 b3 5 7 9",      "major-minor",        "add 9", {"mMaj9"}, 1,       "maj9", 28),
    row("dominant-flat-nine",             "1 3 5 b7 b9",     "dominant",           "add b9", {"7b9"}, 1,        "7b9", 16),
    row("dominant-sharp-nine",            "1 3 5 b7 #9",     "dominant",           "add #9", {"7#9"}, 1,        "7#9", 18),
    row("dominant-sharp-eleven",          "1 3 5 b7 #11",    "dominant",           "add #11", {"7#11"}, 1,      "7#11", 22),
    row("major-seventh-sharp-eleven",     "1 3 5 7 #11",     "major-seventh",      "add #11", {"maj7#11"}, 1,   "maj7#11", 24),
    row("dominant-flat-thirteen",         "1 3 5 b7 b13",    "dominant",           "add b13", {"7b13"}, 1,      "7b13", 26),
    row("ninth-suspended-fourth",         "1 4 5 b7 9",      "suspended-fourth",   "add b7, add 9", {"9sus4"}, 1, "9sus4", 24),
    row("dominant-11th",                  "1 3 5 b7 9 11",   "dominant-11th",      "", {"11"}, 1,              "11", 24),
    row("minor-11th",                     "1 b3 5 b7 9 11",  "minor-11th",         "", {"m11"}, 1,             "11", 20),
    row("dominant-13th",                  "1 3 5 b7 9 13",   "dominant-13th",      "subtract 11", {"13"}, 1,    "13", 18),
    row("major-13th",                     "1 3 5 7 9 13",    "major-13th",         "subtract 11", {"maj13"}, 1, "maj13", 24),
    row("minor-13th",                     "1 b3 5 b7 9 13",  "minor-13th",         "subtract 11", {"m13"}, 1,   "13", 26),
    row("thirteenth-suspended-fourth",    "1 4 5 b7 9 13",   "suspended-fourth",   "add b7, add 9, add 13", {"13sus4"}, 1, "13sus4", 26),
    row("dominant-flat-nine-sharp-five",  "1 3 #5 b7 b9",    "augmented-seventh",  "add b9", {"7#5b9"}, 1,      "+7b9", 28),
    row("dominant-sharp-nine-sharp-five", "1 3 #5 b7 #9",    "augmented-seventh",  "add #9", {"7#5#9"}, 1,      "+7#9", 28),
}};

/// Other tails that lead sheets use, beside the table's own. Source: common practice, no source.
struct Alias { std::string_view tail; std::string_view symbol; };
constexpr Alias aliases[] = {
    {"mi", "m"}, {"\u00b0", "dim"}, {"ma7", "maj7"}, {"Maj7", "maj7"}, {"MA7", "maj7"}, {"\u0394", "maj7"},
    {"\u03947", "maj7"}, {"\u25b3", "maj7"}, {"\u25b37", "maj7"}, {"min7", "m7"}, {"mi7", "m7"}, {"min6", "m6"},
    {"min7b5", "m7b5"}, {"mi7b5", "m7b5"}, {"-7b5", "m7b5"}, {"\u00f8", "m7b5"}, {"\u00f87", "m7b5"},
    {"\u00b07", "dim7"}, {"mmaj7", "mMaj7"}, {"m/maj7", "mMaj7"}, {"minmaj7", "mMaj7"}, {"-maj7", "mMaj7"},
    {"-M7", "mMaj7"}, {"mmaj9", "mMaj9"}, {"mM9", "mMaj9"}, {"aug7", "7#5"}, {"7aug", "7#5"}, {"7+5", "7#5"},
    {"+maj7", "maj7#5"}, {"+M7", "maj7#5"}, {"M7#5", "maj7#5"}, {"M7#11", "maj7#11"}, {"add2", "add9"},
    {"madd2", "madd9"}, {"6add9", "6/9"}, {"m6add9", "m6/9"}, {"M9", "maj9"}, {"Maj9", "maj9"}, {"min9", "m9"},
    {"-9", "m9"}, {"min11", "m11"}, {"-11", "m11"}, {"min13", "m13"}, {"-13", "m13"}, {"M13", "maj13"},
    {"Maj13", "maj13"}, {"9sus", "9sus4"}, {"13sus", "13sus4"}, {"7b9#5", "7#5b9"}, {"7#9#5", "7#5#9"},
    {"+7b9", "7#5b9"}, {"+7#9", "7#5#9"}, {"7alt", "7#5#9"}, {"alt", "7#5#9"},
};
// clang-format on

constexpr std::uint16_t fifthBit = 1u << 7;

constexpr bool hasPlainFifth(const ChordType& type) {
  for (std::size_t i = 0; i < type.count; ++i)
    if (type.degrees[i] == Degree{5, 0}) return true;
  return false;
}

constexpr std::size_t mostPatterns = 2 * chordTypeCount + 8;

/// Every way of holding every type, sorted by mask; `start[m]` .. `start[m + 1]` are those whose mask is 2 m + 1.
struct PatternIndex {
  std::array<Pattern, mostPatterns> patterns{};
  std::array<std::uint8_t, 2049> start{};
  std::size_t count = 0;

  constexpr void add(std::uint16_t mask, std::size_t type, Form form) {
    patterns[count] = {mask, static_cast<std::uint8_t>(type), form};
    ++count;
  }
};

constexpr PatternIndex makePatterns() {
  PatternIndex index;
  for (std::size_t i = 0; i < table.size(); ++i) {
    index.add(table[i].mask, i, Form::complete);
    if (table[i].count >= 3 && hasPlainFifth(table[i]))
      index.add(static_cast<std::uint16_t>(table[i].mask & ~fifthBit), i, Form::noFifth);
  }
  // Without a third: root, fifth and seventh; a tritone alone. Root and seventh alone: the two-note shell.
  index.add(1u | fifthBit | 1u << 10, chordTypeIds::dominant.value, Form::noThird);
  index.add(1u | fifthBit | 1u << 10, chordTypeIds::minorSeventh.value, Form::noThird);
  index.add(1u | fifthBit | 1u << 11, chordTypeIds::majorSeventh.value, Form::noThird);
  index.add(1u | 1u << 6, chordTypeIds::diminished.value, Form::noThird);
  index.add(1u | 1u << 10, chordTypeIds::dominant.value, Form::shell);
  index.add(1u | 1u << 10, chordTypeIds::minorSeventh.value, Form::shell);
  index.add(1u | 1u << 11, chordTypeIds::majorSeventh.value, Form::shell);
  const auto last = index.patterns.begin() + static_cast<std::ptrdiff_t>(index.count);
  std::sort(index.patterns.begin(), last, [](const Pattern& a, const Pattern& b) {
    return a.mask != b.mask ? a.mask < b.mask : a.type != b.type ? a.type < b.type : a.form < b.form;
  });
  std::size_t at = 0;
  for (std::size_t m = 0; m < index.start.size(); ++m) {
    while (at < index.count && index.patterns[at].mask < 2 * m + 1) ++at;
    index.start[m] = static_cast<std::uint8_t>(at);
  }
  return index;
}

constexpr PatternIndex patternIndex = makePatterns();

}  // namespace

constexpr std::array<ChordType, chordTypeCount> chordTypes = table;

std::span<const Pattern> patternsOf(std::uint16_t mask) noexcept {
  const std::size_t m = (mask >> 1) & 2047u;
  const std::size_t first = patternIndex.start[m];
  return {patternIndex.patterns.data() + first, std::size_t{patternIndex.start[m + 1]} - first};
}

const ChordType& chordTypeOf(ChordTypeId id) noexcept { return table[id.value < chordTypeCount ? id.value : 0]; }

std::optional<ChordTypeId> chordTypeNamed(std::string_view tail) noexcept {
  for (const auto& alias : aliases)
    if (alias.tail == tail) tail = alias.symbol;
  for (std::size_t i = 0; i < table.size(); ++i)
    for (std::size_t s = 0; s < table[i].symbolCount; ++s)
      if (table[i].symbols[s] == tail) return ChordTypeId{static_cast<std::uint8_t>(i)};
  return std::nullopt;
}

Chord makeChord(PitchClass root, ChordTypeId type, PitchClass bass) noexcept {
  const auto& types = chordTypeOf(type);
  Chord chord;
  chord.root = root;
  chord.bass = bass;
  chord.type = type;
  chord.count = types.count;
  chord.tones = types.semitones;
  const unsigned turned = static_cast<unsigned>(types.mask) << root.value;
  chord.held.bits = static_cast<std::uint16_t>((turned | turned >> 12) & 0xfffu);
  chord.held.add(bass);
  return chord;
}

}  // namespace seguente
