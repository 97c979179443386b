#include "dsp/idiom_effort.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <initializer_list>
#include <vector>

#include "dsp/voicing.h"

namespace seguente {
namespace {

struct Struck {
  Ticks at, off;
  int low, high;
};

/// C major as a beginner holds it.
Chord cMajor() {
  Chord chord;
  chord.count = 3;
  chord.tones[1] = 4;
  chord.tones[2] = 7;
  return chord;
}

std::vector<Struck> strokesOf(const Idiom& idiom) {
  const Chord chord = cMajor();
  const DegreeTable degrees = degreesOf(chord);
  VoicingContext context;
  context.chord = &chord;
  context.degrees = &degrees;
  context.spanLimit = 12;
  for (const unsigned char key : std::initializer_list<unsigned char>{48, 52, 55}) context.hand.add({key});
  Voicing voicing;
  std::vector<Struck> out;
  const Figure& figure = idiom.figure(idiom.at(Density::lean).statement);
  for (const Step& step : idiom.stepsOf(figure)) {
    const Part& part = idiom.parts[step.part];
    if (part.kind == PartKind::percussion || step.condition == Condition::noMajorThirdOrNoRoom) continue;
    context.lowestSounding = 128;
    for (const Struck& s : out)
      if (part.kind == PartKind::chords && s.off > step.at)
        context.lowestSounding = std::min(context.lowestSounding, s.low);
    const auto keys = voicing.voice(step, part, context);
    if (keys.count == 0) continue;
    int low = 127, high = 0;
    for (std::size_t i = 0; i < keys.count; ++i) {
      low = std::min<int>(low, keys.keys[i].value);
      high = std::max<int>(high, keys.keys[i].value);
    }
    if (!out.empty() && out.back().at == step.at) {
      out.back() = {step.at, std::max(out.back().off, step.at + step.length), std::min(low, out.back().low),
                    std::max(high, out.back().high)};
    } else {
      out.push_back({step.at, step.at + step.length, low, high});
    }
  }
  return out;
}

}  // namespace

HandEffort effortOf(const Idiom& idiom) {
  HandEffort effort;
  const auto strokes = strokesOf(idiom);
  if (strokes.empty()) return effort;
  int low = strokes.front().low, high = strokes.front().high;
  for (const Struck& s : strokes) {
    int from = s.low, to = s.high;
    for (const Struck& other : strokes)
      if (other.at <= s.at && other.off > s.at) {
        from = std::min(from, other.low);
        to = std::max(to, other.high);
      }
    effort.span = std::max(effort.span, to - from);
    const bool within = std::max(high, s.high) - std::min(low, s.low) <= 12;
    if (!within) effort.leap = std::max(effort.leap, std::min(std::abs(s.low - low), std::abs(s.high - high)));
    low = within ? std::min(low, s.low) : s.low;
    high = within ? std::max(high, s.high) : s.high;
  }
  const double length = static_cast<double>(idiom.figure(idiom.at(Density::lean).statement).length.value);
  const double seconds = length / static_cast<double>(quarter.value) * 60 / std::sqrt(idiom.tempoLow * idiom.tempoHigh);
  effort.strokesASecond = static_cast<double>(strokes.size()) / seconds;
  const int points = (effort.strokesASecond > 2) + (effort.strokesASecond > 4) + (effort.leap > 7) +
                     (effort.leap > 12) + (effort.span > 9);
  effort.grade = 1 + std::min(4, points);
  return effort;
}

}  // namespace seguente
