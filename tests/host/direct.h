// The plugin's processor by itself, without a format around it: what formats hide, and what no bundle can be asked.
#pragma once

#include "plugin/processor.h"
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

}  // namespace seguente::host
