// The computer's keys as an instrument. Which chord a letter holds is what Help says; that its keys are that chord is
// judged by dsp/harmony, which has its own outside tests.
#include <string>
#include <utility>
#include <vector>

#include "dsp/harmony.h"
#include "plugin/standalone/computer_keys.h"
#include "tests/catch.h"

using namespace seguente;
using namespace seguente::home;

namespace {
/// "+48 +52 +55 -48": what was played.
struct Played {
  std::string text;
  ComputerKeys keys{[this](NoteNumber key, bool down) {
    text += (text.empty() ? "" : " ") + std::string(down ? "+" : "-") + std::to_string(key.value);
  }};
  std::string said() { return std::exchange(text, {}); }
};
/// What the held keys are called in C, without their bass.
std::string heardName(const KeySet& held) {
  const auto symbol = symbolOf(nameChord(held, *parseKey("C")).best());
  const std::string name(symbol.view());
  return name.substr(0, name.find('/'));
}
auto only(const std::string& down) {
  return [down](char key) { return down.find(key) != std::string::npos; };
}
}  // namespace

TEST_CASE("a letter holds its chord until it is let go, and does not strike again while it repeats") {
  Played p;
  CHECK(p.keys.down('C', false));
  CHECK(p.keys.down('C', false));
  CHECK(p.keys.down('C', false));
  CHECK(p.said() == "+48 +52 +55");
  p.keys.letGoUnless(only("C"));
  CHECK(p.said().empty());
  p.keys.letGoUnless(only(""));
  CHECK(p.said() == "-48 -52 -55");
}

TEST_CASE("of two letters the later one holds; the earlier comes back when it goes") {
  Played p;
  p.keys.down('C', false);
  p.said();
  p.keys.down('F', false);
  CHECK(p.said() == "-48 -52 -55 +48 +53 +57");
  p.keys.letGoUnless(only("C"));
  CHECK(p.said() == "-48 -53 -57 +48 +52 +55");
  p.keys.down('G', false);
  p.said();
  p.keys.letGoUnless(only("G"));  // the earlier one goes: nothing changes
  CHECK(p.said().empty());
}

TEST_CASE("figures play the scale over the chord, and more than one at once") {
  Played p;
  p.keys.down('C', false);
  p.said();
  p.keys.down('1', false);
  p.keys.down('3', false);
  p.keys.down('3', false);
  CHECK(p.said() == "+60 +64");
  p.keys.letGoAll();
  CHECK(p.said() == "-60 -64 -48 -52 -55");
  CHECK_FALSE(p.keys.any());
}

TEST_CASE("other letters are not ours") {
  Played p;
  for (const char key : {'H', 'Z', 'R', ' ', '+'}) CHECK_FALSE(p.keys.down(key, false));
  CHECK(p.said().empty());
}

TEST_CASE("every letter's keys lie below middle C, and are the chord that it names, in either mode") {
  for (char letter = 'A'; letter <= 'G'; ++letter)
    for (const bool other : {false, true}) {
      KeySet held;
      for (const auto key : chordOf(letter, other)) {
        CHECK(key.value < 60);
        held.add(key);
      }
      INFO(letter << (other ? " with Shift" : ""));
      CHECK(heardName(held) == chordName(letter, other));
    }
}
