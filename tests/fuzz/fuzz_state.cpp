// libFuzzer: any bytes as a session. It is refused with one line, or read whole; and what was read is written and read
// back the same. Corpus: tests/fuzz/corpus/state.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "plugin/state.h"

namespace {

using namespace seguente;

void insist(bool promise) {
  if (!promise) std::abort();
}

void insistOn(const SavedState& state) {
  for (const auto& row : parameterTable()) {
    const double value = state.values[static_cast<std::size_t>(row.which)];
    insist(value == allowed(row, value) && valueOf(row, textOf(row, value)) == value);
  }
  for (const auto giver : state.givers)
    insist(giver == Giver{} || (canGive(giver) && giverFrom(textOf(giver)) == giver));
  for (const auto& slot : state.slots) insist(slot.slot >= 0 && slot.slot < static_cast<int>(slotCount));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto read = readState({reinterpret_cast<const char*>(data), size});
  insist(read.state.has_value() == read.fault.empty());
  insist(read.fault.find('\n') == std::string::npos);
  if (!read.state) return 0;
  insistOn(*read.state);
  const auto text = writeState(*read.state);
  const auto again = readState(text);
  insist(again.state.has_value());
  insist(writeState(*again.state) == text);
  insist(again.state->values == read.state->values && again.state->givers == read.state->givers);
  insist(again.state->slots.size() == read.state->slots.size());
  return 0;
}
