// Reads chord symbols and keys as lead sheets write them. Nothing here allocates.
#include <array>
#include <cctype>
#include <cstdlib>

#include "dsp/chord_types.h"
#include "dsp/harmony.h"

namespace seguente {
namespace {

constexpr std::size_t longestSymbol = 40;

/// Takes `token` off the front of text. False and nothing taken when it is not there.
bool take(std::string_view& text, std::string_view token) {
  if (!text.starts_with(token)) return false;
  text.remove_prefix(token.size());
  return true;
}

/// A letter and its accidentals off the front: "F#", "Bbb", with the signs of a keyboard or of print.
std::optional<SpelledPitch> takePitch(std::string_view& text) {
  constexpr std::string_view letters = "CDEFGAB";
  if (text.empty()) return std::nullopt;
  const auto step = letters.find(text.front());
  if (step == std::string_view::npos) return std::nullopt;
  auto rest = text.substr(1);
  SpelledPitch pitch{static_cast<std::int8_t>(step), 0};
  for (;;) {
    if (take(rest, "#") || take(rest, "\u266f"))
      ++pitch.alteration;
    else if (take(rest, "b") || take(rest, "\u266d"))
      --pitch.alteration;
    else if (!take(rest, "\u266e"))
      break;
    if (std::abs(pitch.alteration) > 2) return std::nullopt;
  }
  text = rest;
  return pitch;
}

/// Room for a symbol that was tidied up; never longer than the text it came from.
struct Tidied {
  std::array<char, longestSymbol> chars{};
  std::size_t length = 0;
  void add(char c) {
    if (length < chars.size()) chars[length++] = c;
  }
  std::string_view view() const { return {chars.data(), length}; }
};

/// Without spaces and brackets, and with # and b for the signs of print: "m7(\u266d5)" becomes "m7b5".
Tidied plainTail(std::string_view tail) {
  Tidied plain;
  while (!tail.empty()) {
    if (take(tail, "\u266f"))
      plain.add('#');
    else if (take(tail, "\u266d"))
      plain.add('b');
    else if (!(take(tail, "(") || take(tail, ")") || take(tail, " ") || take(tail, ","))) {
      plain.add(tail.front());
      tail.remove_prefix(1);
    }
  }
  return plain;
}

char lowerCase(char c) { return static_cast<char>(std::tolower(static_cast<unsigned char>(c))); }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front()))) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back()))) text.remove_suffix(1);
  return text;
}

bool isNoChord(std::string_view text) {
  for (const auto word : {"N.C.", "N.C", "NC", "n.c.", "nc"})
    if (text == word) return true;
  return false;
}

/// Splits "F#m7b5/C" at the slash before a bass note; "C6/9" has none.
std::optional<SpelledPitch> splitBass(std::string_view& text) {
  const auto slash = text.rfind('/');
  if (slash == std::string_view::npos) return std::nullopt;
  auto after = trimmed(text.substr(slash + 1));
  const auto bass = takePitch(after);
  if (!bass || !after.empty()) return std::nullopt;
  text = text.substr(0, slash);
  return bass;
}

/// Sharps positive, flats negative, in the signature of a tonic: by the circle of fifths.
constexpr int signatureOf(SpelledPitch tonic, Mode mode) {
  constexpr int fifths[7] = {0, 2, 4, -1, 1, 3, 5};
  return fifths[tonic.step] + 7 * tonic.alteration - (mode == Mode::minor ? 3 : 0);
}

std::optional<Mode> modeNamed(std::string_view word) {
  if (word.empty() || word == "M") return Mode::major;
  if (word == "m") return Mode::minor;
  Tidied lower;
  for (const char c : word) lower.add(lowerCase(c));
  if (lower.view() == "major" || lower.view() == "maj") return Mode::major;
  if (lower.view() == "minor" || lower.view() == "min") return Mode::minor;
  return std::nullopt;
}

}  // namespace

std::optional<Chord> parseSymbol(std::string_view text) {
  text = trimmed(text);
  if (text.size() > longestSymbol) return std::nullopt;
  if (isNoChord(text)) return Chord{};
  const auto root = takePitch(text);
  if (!root) return std::nullopt;
  const auto bass = splitBass(text);
  const auto type = chordTypeNamed(plainTail(text).view());
  if (!type) return std::nullopt;
  const auto bassSpelling = bass.value_or(*root);
  auto chord = makeChord(root->pitchClass(), *type, bassSpelling.pitchClass());
  chord.rootSpelling = *root;
  chord.bassSpelling = bassSpelling;
  return chord;
}

std::optional<Key> parseKey(std::string_view text) {
  text = trimmed(text);
  if (text.empty() || text.size() > longestSymbol) return std::nullopt;
  Tidied copy;
  for (const char c : text) copy.add(c);
  copy.chars[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(copy.chars[0])));
  std::string_view rest = copy.view();
  const auto tonic = takePitch(rest);
  if (!tonic) return std::nullopt;
  while (!rest.empty() && (rest.front() == '-' || rest.front() == ' ')) rest.remove_prefix(1);
  const auto mode = modeNamed(rest);
  if (!mode || std::abs(signatureOf(*tonic, *mode)) > 7) return std::nullopt;  // no signature has eight
  return Key{*tonic, *mode, true};
}

}  // namespace seguente
