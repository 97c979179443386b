#include "dsp/idiom_steps.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <numeric>
#include <vector>

#include "dsp/harmony.h"

namespace seguente {
namespace {

constexpr int largestNumber = 9999;  // beats and their denominators: far beyond any music, far below an overflow

std::optional<int> wholeNumber(std::string_view text, int lowest, int highest) {
  if (text.empty() || text.size() > 6 || !std::isdigit(static_cast<unsigned char>(text.front()))) return std::nullopt;
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || value < lowest || value > highest)
    return std::nullopt;
  return value;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

std::optional<Fraction> simpleFraction(std::string_view text) {
  const auto slash = text.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  const auto above = wholeNumber(trimmed(text.substr(0, slash)), 0, largestNumber);
  const auto below = wholeNumber(trimmed(text.substr(slash + 1)), 1, largestNumber);
  if (!above || !below) return std::nullopt;
  return Fraction{*above, *below};
}

std::optional<Degree> parseDegree(std::string_view text) {
  int alteration = 0;
  while (!text.empty() && (text.front() == 'b' || text.front() == '#')) {
    const int step = text.front() == 'b' ? -1 : 1;
    if (alteration * step < 0 || alteration * step == 2) return std::nullopt;  // "b#" and "bbb"
    alteration += step;
    text.remove_prefix(1);
  }
  const auto number = wholeNumber(text, 1, 15);
  if (!number) return std::nullopt;
  return Degree{static_cast<std::uint8_t>(*number), static_cast<std::int8_t>(alteration)};
}

std::optional<Play> parseDegrees(std::string_view text, std::string& expected) {
  Play play;
  for (bool more = true; more;) {
    const auto plus = text.find('+');
    more = plus != std::string_view::npos;
    const auto degree = parseDegree(trimmed(text.substr(0, plus)));
    if (!degree) return std::nullopt;
    if (play.count == limits::notesPerStep) {
      expected = "at most " + std::to_string(limits::notesPerStep) + " notes in a step (the cap notesPerStep)";
      return std::nullopt;
    }
    play.degrees[play.count++] = *degree;
    if (more) text.remove_prefix(plus + 1);
  }
  return play;
}

struct PlayWord {
  std::string_view word;
  PlayKind kind;
  std::uint8_t nth;
};

constexpr std::array<PlayWord, 13> playWords{{{"C", PlayKind::upper, 1},
                                              {"R", PlayKind::nextBass, 1},
                                              {"R~", PlayKind::approach, 1},
                                              {"lowest", PlayKind::heldLowest, 1},
                                              {"upper", PlayKind::heldUpper, 1},
                                              {"all", PlayKind::heldAll, 1},
                                              {"top", PlayKind::heldTop, 1},
                                              {"1st", PlayKind::heldNth, 1},
                                              {"2nd", PlayKind::heldNth, 2},
                                              {"3rd", PlayKind::heldNth, 3},
                                              {"4th", PlayKind::heldNth, 4},
                                              {"5th", PlayKind::heldNth, 5},
                                              {"6th", PlayKind::heldNth, 6}}};

struct PercussionKey {
  std::string_view word;
  std::uint8_t key;
};

// Words and keys of the General MIDI level 1 percussion map; "shaker" is General MIDI 2.
constexpr std::array<PercussionKey, 30> percussionKeys{
    {{"bass drum", 36},       {"side stick", 37},     {"snare drum", 38},     {"hand clap", 39},     {"low tom", 45},
     {"closed hi-hat", 42},   {"pedal hi-hat", 44},   {"open hi-hat", 46},    {"middle tom", 47},    {"high tom", 50},
     {"crash cymbal", 49},    {"ride cymbal", 51},    {"ride bell", 53},      {"tambourine", 54},    {"cowbell", 56},
     {"high bongo", 60},      {"low bongo", 61},      {"muted conga", 62},    {"high conga", 63},    {"low conga", 64},
     {"high timbale", 65},    {"low timbale", 66},    {"cabasa", 69},         {"maracas", 70},       {"claves", 75},
     {"high wood block", 76}, {"low wood block", 77}, {"muted triangle", 80}, {"open triangle", 81}, {"shaker", 82}}};

std::optional<RowPlay> parsePercussion(std::string_view text, std::string& expected) {
  RowPlay row;
  row.play.kind = PlayKind::percussion;
  const auto found = std::find_if(percussionKeys.begin(), percussionKeys.end(),
                                  [&](const PercussionKey& k) { return k.word == text; });
  const auto number = wholeNumber(text, 27, 87);  // General MIDI 2's percussion keys
  if (found == percussionKeys.end() && !number) {
    std::vector<std::string_view> words;
    for (const auto& k : percussionKeys) words.push_back(k.word);
    const auto nearest = nearestWord(text, words);
    expected = nearest.empty()
                   ? "a percussion key such as \"bass drum\", \"snare drum\", \"closed hi-hat\", or 27 to 87"
                   : "\"" + nearest + "\"";
    return std::nullopt;
  }
  row.play.nth = number ? static_cast<std::uint8_t>(*number) : found->key;
  return row;
}

}  // namespace

std::optional<Fraction> parseFraction(std::string_view text) {
  text = trimmed(text);
  const auto space = text.find(' ');
  if (space == std::string_view::npos || text.substr(space).find_first_not_of(' ') == std::string_view::npos) {
    if (const auto whole = wholeNumber(text, 0, largestNumber)) return Fraction{*whole, 1};
    return simpleFraction(text);
  }
  const auto whole = wholeNumber(text.substr(0, space), 0, largestNumber);
  const auto rest = simpleFraction(trimmed(text.substr(space)));
  if (!whole || !rest || rest->numerator >= rest->denominator) return std::nullopt;
  return Fraction{*whole * rest->denominator + rest->numerator, rest->denominator};
}

std::string textOf(Fraction fraction) {
  const auto common = std::gcd(fraction.numerator, fraction.denominator);
  const auto above = fraction.numerator / common;
  const auto below = fraction.denominator / common;
  if (below == 1) return std::to_string(above);
  const auto part = std::to_string(above % below) + "/" + std::to_string(below);
  return above < below ? part : std::to_string(above / below) + " " + part;
}

std::string inQuotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (static_cast<unsigned char>(c) < 0x20) continue;
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + "\"";
}

std::string beatsText(Ticks t, Ticks beat) {
  const auto text = textOf(Fraction{t.value, beat.value});
  return text.find('/') == std::string::npos ? text : inQuotes(text);
}

std::string fractionLike(double decimal) {
  if (!(decimal >= 0 && decimal < largestNumber)) return "1";
  Fraction best{static_cast<std::int64_t>(std::lround(decimal)), 1};
  double error = std::abs(decimal - static_cast<double>(best.numerator));
  for (std::int64_t below = 2; below <= 16; ++below) {
    const auto above = static_cast<std::int64_t>(std::lround(decimal * static_cast<double>(below)));
    const double miss = std::abs(decimal - static_cast<double>(above) / static_cast<double>(below));
    if (miss < error - 0.002) {  // a simpler fraction wins unless the other is clearly nearer: 0.33 is a third
      best = {above, below};
      error = miss;
    }
  }
  return textOf(best);
}

std::optional<Ticks> ticksOf(Fraction beats, Ticks beat) {
  const auto product = beats.numerator * beat.value;
  if (product % beats.denominator != 0) return std::nullopt;
  return Ticks{product / beats.denominator};
}

std::optional<Meter> parseMeter(std::string_view text) {
  const auto slash = text.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  const auto above = wholeNumber(text.substr(0, slash), 1, 32);
  const auto below = wholeNumber(text.substr(slash + 1), 1, 32);
  if (!above || !below) return std::nullopt;
  const Meter meter{static_cast<std::uint8_t>(*above), static_cast<std::uint8_t>(*below)};
  return meter.valid() ? std::optional(meter) : std::nullopt;
}

std::string textOf(Meter meter) { return std::to_string(meter.numerator) + "/" + std::to_string(meter.denominator); }

std::optional<NoteNumber> parseNoteName(std::string_view text) {
  constexpr std::string_view letters = "CDEFGAB";
  constexpr std::array<int, 7> natural{0, 2, 4, 5, 7, 9, 11};
  if (text.empty()) return std::nullopt;
  const auto letter = letters.find(text.front());
  if (letter == std::string_view::npos) return std::nullopt;
  text.remove_prefix(1);
  int key = natural[letter];
  if (!text.empty() && (text.front() == '#' || text.front() == 'b')) {
    key += text.front() == '#' ? 1 : -1;
    text.remove_prefix(1);
  }
  const bool below = !text.empty() && text.front() == '-';
  if (below) text.remove_prefix(1);
  const auto octave = wholeNumber(text, 0, below ? 1 : 9);
  if (!octave) return std::nullopt;
  key += 12 * ((below ? -*octave : *octave) + 1);
  if (key < 0 || key > 127) return std::nullopt;
  return NoteNumber{static_cast<std::uint8_t>(key)};
}

bool RowPlay::blueThird() const {
  if (!crushed) return false;
  const auto from = crushedNote.degrees[0], to = play.degrees[0];
  return from.number == to.number && (to.number == 3 || to.number == 10) && from.alteration == -1 && to.alteration == 0;
}

std::optional<RowPlay> parsePlay(std::string_view text, PartKind kind, std::string& expected) {
  if (kind == PartKind::percussion) return parsePercussion(text, expected);
  RowPlay row;
  if (text == "line") {
    row.play.kind = PlayKind::line;
    expected = "it in a part of kind \"counter-line\"";
    return kind == PartKind::counterLine ? std::optional(row) : std::nullopt;
  }
  for (const auto& word : playWords)
    if (word.word == text) {
      row.play.kind = word.kind;
      row.play.nth = word.nth;
      return row;
    }
  expected =
      "degrees such as \"1\", \"1+5\", \"b3>3\", or one of \"C\", \"R\", \"R~\", \"lowest\", \"upper\", \"all\", "
      "\"top\", \"2nd\"";
  if (text.find("C+") != std::string_view::npos || text.find("+C") != std::string_view::npos)
    expected = "\"C\" in a row of its own, at the same beat";
  if (const auto sign = text.find('>'); sign != std::string_view::npos) {
    const auto from = parseDegree(trimmed(text.substr(0, sign)));
    const auto to = parseDegree(trimmed(text.substr(sign + 1)));
    if (!from || !to) {
      expected = "one degree crushed into another, such as \"b3>3\"";
      return std::nullopt;
    }
    row.crushed = true;
    row.crushedNote.count = row.play.count = 1;
    row.crushedNote.degrees[0] = *from;
    row.play.degrees[0] = *to;
    return row;
  }
  const auto degrees = parseDegrees(text, expected);
  if (!degrees) return std::nullopt;
  row.play = *degrees;
  return row;
}

std::optional<Chord> parseNumeral(std::string_view text) {
  constexpr std::array<std::string_view, 7> large{"VII", "III", "IV", "VI", "II", "V", "I"};  // longer before shorter
  constexpr std::array<std::string_view, 7> small{"vii", "iii", "iv", "vi", "ii", "v", "i"};
  constexpr std::array<char, 7> letters{'B', 'E', 'F', 'A', 'D', 'G', 'C'};
  std::string accidental;
  if (!text.empty() && (text.front() == 'b' || text.front() == '#')) {
    accidental = text.front();
    text.remove_prefix(1);
  }
  for (std::size_t i = 0; i < large.size(); ++i) {
    const bool minor = text.starts_with(small[i]);
    if (!minor && !text.starts_with(large[i])) continue;
    auto tail = text.substr(large[i].size());
    const bool diminished = minor && tail.starts_with('o');
    if (diminished) tail.remove_prefix(1);
    auto chord = parseSymbol(letters[i] + accidental + (diminished ? "dim" : minor ? "m" : "") + std::string(tail));
    if (!chord || chord->none() || chord->bass != chord->root) return std::nullopt;
    chord->held = {};
    return chord;
  }
  return std::nullopt;
}

std::size_t editDistance(std::string_view a, std::string_view b) {
  // Optimal string alignment: Levenshtein's table with the exchange of two neighbours (Damerau) added.
  std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t other = a[i - 1] == b[j - 1] ? 0 : 1;
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + other});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}

std::string nearestWord(std::string_view word, std::span<const std::string_view> words) {
  if (word.empty() || word.size() > limits::textLength) return {};
  std::string nearest;
  auto best = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (const auto candidate : words) {
    const auto distance = editDistance(word, candidate);
    if (distance < best && distance < candidate.size()) {
      best = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

}  // namespace seguente
