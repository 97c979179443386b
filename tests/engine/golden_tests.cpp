// One arrangement that a musician can read: an event a line, in bars and beats. When it is meant to change, read the
// difference aloud and approve it: SEGUENTE_APPROVE=1 writes the file anew.
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "tests/catch.h"
#include "tests/support/contracts.h"
#include "tests/support/music.h"

using namespace seguente;
using namespace seguente::test;

namespace {

std::string readAll(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

/// "line 12: … expected, … came"; "" when both are the same.
std::string firstDifferentLine(const std::string& expected, const std::string& came) {
  std::istringstream a(expected), b(came);
  std::string one, other;
  for (int line = 1;; ++line) {
    const bool more = static_cast<bool>(std::getline(a, one));
    const bool moreCame = static_cast<bool>(std::getline(b, other));
    if (!more && !moreCame) return "";
    if (more != moreCame || one != other)
      return "line " + std::to_string(line) + ": '" + (more ? one : "nothing") + "' expected, '" +
             (moreCame ? other : "nothing") + "' came";
  }
}

void approvedAs(const std::string& name, const std::string& text) {
  const std::string path = std::string(SEGUENTE_TESTS) + "/engine/golden/" + name + ".txt";
  if (std::getenv("SEGUENTE_APPROVE") != nullptr) std::ofstream(path) << text;
  CHECK(firstDifferentLine(readAll(path), text) == "");
}

/// Chords a little apart, as fingers land; the hand lifts before the next.
void hold(Score& score, const std::string& names, double from, double to) {
  int finger = 0;
  for (const auto note : keys(names)) {
    const auto spread = quarters(0.012 * finger++);
    score.chord(keyName(note), quarters(from) + spread, quarters(to) - quarters(0.3) - spread);
  }
}

}  // namespace

TEST_CASE("The golden waltz: a pickup, eight bars of F, Bb and C7, two chords in a bar, a late one, and an end",
          "[engine][golden]") {
  Score score(48000, {3, 4}, 112, quarters(1));
  score.with(idiom("waltz")).tune("F4", {}, quarters(0.7)).tune("F4", quarters(0.75), quarters(0.95));
  hold(score, "C3 F3 A3", 1, 4);
  hold(score, "C3 F3 A3", 4, 7);
  hold(score, "C3 E3 Bb3", 7, 10);
  hold(score, "C3 E3 Bb3", 10.1, 13);  // late by 53 ms
  hold(score, "D3 F3 Bb3", 13, 15);
  hold(score, "C3 F3 A3", 15, 16);      // two chords in a bar
  hold(score, "C3 E3 Bb3", 15.95, 19);  // early by 27 ms
  hold(score, "C3 F3 A3", 19, 30);
  score.signal(Gesture::end, quarters(21.9));
  const auto r = render(score, quarters(30));
  CHECK(brokenContract(r, score.inputs()) == "");
  approvedAs("waltz", arrangement(r, score, idiom("waltz")));
}
