// `chords` and `hands`: what the engine hears, without an idiom.
#include <cstdio>

#include "plugin/commandline/commands.h"
#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "plugin/commandline/rows.h"

namespace seguente {

namespace {

template <class Write>
int hearAndWrite(const HearingOptions& options, Write&& write) {
  const auto performance = prepare(options, nullptr);
  if (!performance.good()) return complain(performance.fault);
  const Rendering rendering = render(*performance.value, options.rate, options.block);
  if (const auto none = noChordsText(rendering, options); !none.empty()) complain(none);
  const std::string text = write(*performance.value, rendering);
  std::fwrite(text.data(), 1, text.size(), stdout);
  return std::fflush(stdout) == 0 ? exitDone : complain("the result cannot be written to the standard output");
}

}  // namespace

int commandChords(const HearingOptions& options) {
  return hearAndWrite(options, [&](const Performance&, const Rendering& r) {
    return options.json ? chordRowsJson(r) : chordRowsTsv(r);
  });
}

int commandHands(const HearingOptions& options) {
  return hearAndWrite(options, [&](const Performance& p, const Rendering& r) {
    return options.json ? handRowsJson(p, r) : handRowsTsv(p, r);
  });
}

}  // namespace seguente
