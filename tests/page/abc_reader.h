// The tune of a small ABC file as it is printed: spelling and values, an oracle from outside the engine. Reads what
// tests/reference/tunes holds: one voice, K:, M:, L:, accidentals with bar memory, lengths, > and <, ties, rests.
#pragma once

#include <string>
#include <vector>

#include "dsp/time.h"

namespace seguente::test {

struct PrintedNote {
  Ticks at{}, length{};  // ties joined
  int step = 0;          // from middle C = 0; octaves as printed
  int alteration = 0;
  std::vector<Ticks> values;  // as printed, tied together
};

struct PrintedTune {
  Meter meter{};
  Ticks pickup{};
  std::vector<PrintedNote> notes;
};

/// A file that is none stops the test.
PrintedTune readAbc(const std::string& path);

}  // namespace seguente::test
