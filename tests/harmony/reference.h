// What the harmony tests share: the published values under tests/reference, and keys put down by name.
#pragma once

#include <fstream>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/harmony.h"
#include "tests/catch.h"

namespace seguente::reference {

inline nlohmann::json load(const std::string& path) {
  std::ifstream file(std::string(SEGUENTE_TEST_REFERENCE) + "/" + path);
  REQUIRE(file.good());
  return nlohmann::json::parse(file);
}

/// "1/2", "3" as quarters; one file's durations are ticks without rest.
inline Ticks ticks(const std::string& fraction) {
  const auto slash = fraction.find('/');
  const auto numerator = std::stoll(fraction.substr(0, slash));
  const auto denominator = slash == std::string::npos ? 1 : std::stoll(fraction.substr(slash + 1));
  return {quarter.value * numerator / denominator};
}

/// The pitch class of a note's name, by hand and apart from the code under test.
inline PitchClass pitchClass(std::string_view name) {
  int value = 0;
  switch (name.at(0)) {
    case 'C':
      value = 0;
      break;
    case 'D':
      value = 2;
      break;
    case 'E':
      value = 4;
      break;
    case 'F':
      value = 5;
      break;
    case 'G':
      value = 7;
      break;
    case 'A':
      value = 9;
      break;
    default:
      value = 11;
  }
  for (const char c : name.substr(1)) value += c == '#' ? 1 : -1;
  return PitchClass::of(value);
}

/// Keys put down from C3 upwards, each above the one before.
inline KeySet hold(const std::vector<std::string>& names) {
  KeySet held;
  int last = 47;
  for (const auto& name : names) {
    const int above = (pitchClass(name).value - last % 12 + 12) % 12;
    last += above == 0 ? 12 : above;
    held.add(NoteNumber{static_cast<std::uint8_t>(last)});
  }
  return held;
}

inline Key key(std::string_view name) {
  const auto found = name.empty() ? Key{} : parseKey(name).value();
  return found;
}

/// All readings as symbols, best first.
inline std::vector<std::string> readings(const std::vector<std::string>& names, std::string_view inKey = "") {
  std::vector<std::string> symbols;
  const auto found = nameChord(hold(names), key(inKey));
  for (std::size_t i = 0; i < found.count; ++i) symbols.emplace_back(symbolOf(found.ranked[i].chord).view());
  return symbols;
}

/// The best reading as a symbol.
inline std::string named(const std::vector<std::string>& names, std::string_view inKey = "") {
  const auto symbols = readings(names, inKey);
  return symbols.empty() ? "" : symbols.front();
}

}  // namespace seguente::reference
