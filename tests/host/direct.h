// The plugin's processor by itself, without a format around it: what formats hide, and what no bundle can be asked.
#pragma once

#include <initializer_list>

#include "plugin/processor.h"
#include "tests/catch.h"
#include "tests/host/perform.h"

namespace seguente::host {

/// Sets the processor's own values, as a host's automation does.
inline Setter setterOf(Processor& processor) {
  return
      [&processor](ParameterId which, double plain) { processor.hostParameter(which).setValue(normal(which, plain)); };
}

/// The whole piece through a new processor. [message]
inline std::vector<Heard> performDirectly(const Piece& piece, const Performing& how = {}) {
  Processor processor;
  return Host(processor, setterOf(processor), piece, how).playUntil(piece.end()).heard();
}

/// In both formats and directly, cut into blocks in each of these ways: what the engine alone plays, of `least` notes
/// and more.
inline void soundsAsTheEngine(const Piece& piece, std::size_t least, std::initializer_list<test::Blocks> ways,
                              Performing how = {}) {
  const auto expected = byEngine(piece);
  REQUIRE(noteOns(expected).size() > least);
  for (const auto& blocks : ways) {
    how.blocks = blocks;
    INFO(blocks.text());
    CHECK(firstDifference(expected, performDirectly(piece, how)) == "");
    for (const auto format : formats) {
      INFO(nameOf(format));
      CHECK(firstDifference(asCarried(format, expected), perform(format, piece, how)) == "");
    }
  }
}

}  // namespace seguente::host
