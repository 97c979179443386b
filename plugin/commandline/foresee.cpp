#include "plugin/commandline/foresee.h"

#include <algorithm>

#include "plugin/commandline/render.h"

namespace seguente {

void foresee(Performance& p, std::int64_t rate, std::size_t block) {
  const Rendering heard = render(p, rate, block);
  p.chart = {};
  for (std::size_t i = 0; i < heard.chords.size(); ++i) {
    const HeardRow& row = heard.chords[i];
    // Between two chords the hand is lifted for a moment: the chord lasts up to the next one.
    Ticks to = row.to;
    if (i + 1 < heard.chords.size() && heard.chords[i + 1].from - to <= p.time.meterAt(to).bar())
      to = heard.chords[i + 1].from;
    if (to <= row.from) continue;
    p.chart.chords.push_back({row.from, to, row.chord, false, false});
    p.chart.symbols.emplace_back(symbolOf(row.chord).view());
  }
  if (p.chart.chords.empty()) return;
  // Where a chart of the user's would stand: after the first settings and the idiom.
  std::size_t at = 0;
  while (at < p.inputs.size() && p.inputs[at].kind != InputKind::midi) ++at;
  const Samples start = p.inputs.empty() ? Samples{} : p.inputs.front().sample;
  Input input = Input::of(start, ChartRef{p.chart.chords.data(), p.chart.chords.size()});
  if (at > 0) input.sample = p.inputs[at - 1].sample;
  p.inputs.insert(p.inputs.begin() + static_cast<std::ptrdiff_t>(at), input);
  p.places.insert(p.places.begin() + static_cast<std::ptrdiff_t>(at), EventPlace{});
}

}  // namespace seguente
