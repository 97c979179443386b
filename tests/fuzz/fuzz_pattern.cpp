// libFuzzer: any bytes as a pattern file. The compiler gives an idiom or faults, never both, never neither; and what it
// gives keeps the promises that the audio thread builds on. Corpus: tests/fuzz/corpus/pattern.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "dsp/idiom_file.h"

namespace {

using namespace seguente;

void insist(bool promise) {
  if (!promise) std::abort();
}

void insistOn(const Idiom& idiom, const Figure& figure) {
  insist(figure.length > Ticks{0} && figure.count > 0 && figure.count <= limits::stepsPerFigure);
  insist(figure.first + std::size_t{figure.count} <= idiom.steps.size());
  Ticks before{0};
  for (std::size_t i = 0; i < figure.count; ++i) {
    const auto& step = idiom.steps[figure.first + i];
    insist(step.at >= before && step.at < figure.length && step.length > Ticks{0});
    insist(step.at + step.length <= figure.length * 2);
    insist(step.part < idiom.parts.size() && step.play.count <= limits::notesPerStep);
    insist(step.stress >= -3 && step.stress <= 3);
    const bool drum = idiom.parts[step.part].kind == PartKind::percussion;
    insist(drum == (step.play.kind == PlayKind::percussion));
    before = step.at;
  }
}

void insistOn(const Idiom& idiom, const DensityFigures& figures) {
  insist(figures.statement.there() && figures.shortCount <= limits::shortForms);
  for (const auto ref :
       {figures.statement, figures.answer, figures.lift, figures.vamp, figures.hold, figures.cadence, figures.end})
    insist(ref.index < static_cast<int>(idiom.figures.size()));
  for (std::size_t i = 0; i < figures.shortCount; ++i) {
    insist(figures.shortForms[i].there());
    insist(i == 0 || idiom.figure(figures.shortForms[i]).length < idiom.figure(figures.shortForms[i - 1]).length);
  }
}

void insistOn(const Idiom& idiom) {
  insist(idiom.meter.valid() && !idiom.id.empty() && !idiom.parts.empty() && idiom.parts.size() <= limits::parts);
  insist(idiom.swingLow <= idiom.swingPermille && idiom.swingPermille <= idiom.swingHigh && idiom.swingLow >= 1000);
  insist(idiom.swingPair > Ticks{0} && idiom.tempoLow > 0 && idiom.tempoLow <= idiom.tempoHigh);
  insist(!idiom.rejoin.empty() && idiom.rejoin.front() == Ticks{0} && idiom.relatives.size() <= limits::relatives);
  insist(inMeter(idiom, idiom.meter) == &idiom);
  for (const auto& part : idiom.parts) insist(part.low <= part.high && part.level > 0 && part.program < 128);
  for (const auto& figure : idiom.figures) insistOn(idiom, figure);
  for (const auto& figures : idiom.density) insistOn(idiom, figures);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto result = compileIdiom({reinterpret_cast<const char*>(data), size}, "fuzz");
  insist((result.idiom != nullptr) == result.faults.empty());
  for (const auto& fault : result.faults) insist(fault.line >= 1 && fault.column >= 1 && !fault.text().empty());
  if (result.idiom) insistOn(*result.idiom);
  return 0;
}
