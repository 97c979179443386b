// Sessions of any content, for tests that must hold for all.
#pragma once

#include <algorithm>
#include <cmath>

#include "plugin/state.h"
#include "tests/support/random.h"

namespace seguente::test {

enum class Letters : std::uint8_t { unicode, anyBytes };

/// Texts that like to hold what is awkward in TOML.
inline std::string randomText(Random& random, Letters letters) {
  static const std::vector<std::string> pieces{"a",
                                               "'",
                                               "'''",
                                               "\"",
                                               "\"\"\"",
                                               "\\",
                                               "\\n",
                                               "\n",
                                               "\r\n",
                                               "\t",
                                               "#",
                                               "[[idioms]]\n",
                                               "\xC3\xA4",
                                               "\xF0\x9D\x84\x9E",
                                               "= 1\n",
                                               " ",
                                               "\x01",
                                               "\x7F",
                                               std::string(1, '\0'),
                                               "text = '''\n"};
  std::string text;
  for (auto n = random.between(0, 12); n > 0; --n) {
    text += random.oneOf(pieces);
    if (letters == Letters::anyBytes && random.oneIn(3)) text += static_cast<char>(random.between(0, 255));
  }
  return text;
}

inline SavedState randomState(Random& random, Letters letters) {
  SavedState state;
  for (const auto& row : parameterTable()) {
    const auto steps = std::llround((row.high - row.low) / row.step);
    state.values[static_cast<std::size_t>(row.which)] =
        allowed(row, row.low + row.step * static_cast<double>(random.between(0, steps)));
  }
  for (auto& giver : state.givers) {
    const Giver any{static_cast<GiverKind>(random.between(0, 2)), static_cast<std::uint8_t>(random.between(0, 15)),
                    static_cast<std::uint8_t>(random.between(0, 127))};
    giver = canGive(any) ? any : Giver{};
  }
  if (random.oneIn(2))
    state.order = SavedOrder{randomText(random, letters), randomText(random, letters),
                             static_cast<int>(random.between(0, static_cast<std::int64_t>(mostPresets) - 1))};
  for (int slot = static_cast<int>(random.between(0, 60)); slot < 128; slot += static_cast<int>(random.between(1, 60)))
    state.slots.push_back({slot, randomText(random, letters), randomText(random, letters)});
  return state;
}

}  // namespace seguente::test
