#include "tests/notate/takes.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"
#include "tests/support/music.h"

namespace seguente::test {

namespace {

constexpr double rate = 48000;
constexpr int barsPlayed = 6;                 // before the lift, which comes at the end of eight
constexpr int firstJudged = 2;                // bars from 0: in the first the chord comes, perhaps by its short form
constexpr const char* readOver = "C3 E3 G3";  // C
constexpr const char* heardAlsoOver = "A2 C3 E3";  // Am

/// Slow and obvious: the inverse of long and short.
Ticks straight(Ticks heard, std::int32_t permille, Ticks pair) {
  if (permille == 1000) return heard;
  const double p = static_cast<double>(pair.value);
  const double start = std::floor(static_cast<double>(heard.value) / p + 1e-9) * p;
  const double in = static_cast<double>(heard.value) - start, longer = p * permille / (1000.0 + permille);
  const double flat = in < longer ? in / longer * p / 2 : p / 2 + (in - longer) / (p - longer) * p / 2;
  return {std::llround((start + flat) / 240) * 240};  // the swing's own rounding: far below any step
}

double bell(Random& random) {  // about normal, standard deviation 1
  double sum = 0;
  for (int i = 0; i < 12; ++i) sum += unit(random);
  return sum - 6;
}

}  // namespace

Played playedBy(const Idiom& idiom, Density density, const std::string& shape, int bars) {
  Played out;
  out.quartersPerMinute = std::round(std::sqrt(idiom.tempoLow * idiom.tempoHigh));
  Score score(rate, idiom.meter, out.quartersPerMinute);
  Settings settings;
  settings.density = density;
  settings.level = 100;
  settings.split = {66};
  settings.kindsOff =
      1u << static_cast<unsigned>(PartKind::counterLine);  // it follows the tune and the bass: no figure
  score.with(settings).with(idiom);
  const Ticks end = idiom.meter.bar() * bars;
  // The tune has begun, which ends the vamp, and goes on, a note a beat: what answers in its rests is no figure either.
  const Ticks beat = compound(idiom.meter) ? idiom.meter.beat() * 3 : quarter;
  for (Ticks at{}; at < end; at = at + beat) score.tune((at.value / beat.value) % 2 == 0 ? "C7" : "D7", at, at + beat);
  score.chord(shape, {}, end, 64);
  out.rendering = render(score, end);
  return out;
}

std::vector<HeardNote> heard(const Played& played, const Idiom& idiom, int fromBar, int toBar) {
  std::vector<HeardNote> out;
  const Ticks from = idiom.meter.bar() * fromBar, to = idiom.meter.bar() * toBar;
  for (const auto& e : played.rendering.events) {
    if (e.kind != OutputKind::noteOn || e.noteId == 0) continue;
    const auto kind = idiom.parts[e.reason.part].kind;
    if (kind == PartKind::percussion) continue;
    const Ticks at = straight(e.reason.dueTick, idiom.swingPermille, idiom.swingPair);
    if (at < from || at >= to) continue;
    out.push_back({at - from, kind == PartKind::bass, e.note().value % 12});
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());  // octaves of one line are one degree
  return out;
}

notate::Take takeOf(const Played& played, const Idiom& idiom, int bars) {
  notate::Take take;
  take.quarterSeconds = 60 / played.quartersPerMinute;
  take.meter = idiom.meter;
  const double end =
      static_cast<double>(idiom.meter.bar().value) / static_cast<double>(quarter.value) * bars * take.quarterSeconds;
  for (const auto& e : played.rendering.events) {
    if (e.kind != OutputKind::noteOn || e.noteId == 0) continue;
    if (idiom.parts[e.reason.part].kind == PartKind::percussion) continue;
    const double on = static_cast<double>(e.sample.value) / rate;
    if (on > end - 0.02) continue;
    const double off = static_cast<double>(endOf(played.rendering, e.noteId).value) / rate;
    take.notes.push_back({e.note().value, e.bytes[2], on, std::min(off, end), -1});
  }
  return take;
}

notate::Take byHand(const notate::Take& exact, bool oneHand, const Touch& touch, Random& random) {
  notate::Take take = exact;
  const double early = 0.02 * unit(random);
  std::map<long long, std::vector<notate::TakenNote*>> strokes;
  for (auto& n : take.notes) strokes[std::llround(n.on * 1000)].push_back(&n);
  for (auto& [at, notes] : strokes) {
    const double off = bell(random) * 0.025 * take.quarterSeconds - early;
    const bool two = !oneHand && notes.size() > 1;
    const double spread = notes.size() < 2 ? 0
                                           : touch.draw(two                 ? "both hands spread"
                                                        : notes.size() == 2 ? "L hand spread, 2 notes"
                                                                            : "L hand spread, 3+ notes",
                                                        random) /
                                                 1000;
    const auto first = static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(notes.size()) - 1));
    for (std::size_t i = 0; i < notes.size(); ++i) {
      const double later = i == first ? 0 : i == (first + 1) % notes.size() ? spread : spread * unit(random);
      const double length = std::max(0.04, (notes[i]->off - notes[i]->on) * (0.9 + 0.12 * unit(random)));
      notes[i]->on += off + later - spread / 2;
      notes[i]->off = notes[i]->on + length;
      notes[i]->velocity = std::clamp(notes[i]->velocity + static_cast<int>(std::lround(around(6, random))), 1, 127);
    }
  }
  return take;
}

notate::Take withoutClick(const notate::Take& exact, Random& random) {
  notate::Take take = exact;
  take.quarterSeconds = 0;
  take.meter.reset();
  const double start = 3 * unit(random), turn = 6.28 * unit(random), way = 0.03, period = 9;
  // The integral of 1 + way * sin: a tempo that breathes.
  const auto move = [&](double t) {
    return start + t - way * period / 6.28 * (std::cos(6.28 * t / period + turn) - std::cos(turn));
  };
  for (auto& n : take.notes) n.on = move(n.on), n.off = move(n.off);
  return take;
}

Agreement agreement(std::vector<HeardNote> a, std::vector<HeardNote> b) {
  std::sort(a.begin(), a.end());
  std::sort(b.begin(), b.end());
  std::vector<HeardNote> both;
  std::set_intersection(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(both));
  return {static_cast<int>(both.size()), static_cast<int>(std::max(a.size(), b.size()))};
}

ReadBack readBack(const notate::Take& take, const Idiom& idiom, Density density, const notate::Wishes& wishes) {
  ReadBack out;
  out.figure = notate::notate(take, wishes);
  out.fault = out.figure.fault;
  if (!out.fault.empty()) return out;
  out.text = notate::patternText(out.figure, {"read", "Read", "a take"});
  const auto compiled = compileIdiom(out.text, "read.toml");
  if (!compiled.idiom) {
    out.fault = compiled.faults.front().text();
    return out;
  }
  const auto over = [&](const char* shape) {
    const auto was = heard(playedBy(idiom, density, shape, barsPlayed), idiom, firstJudged, barsPlayed);
    // Whichever density the reading was written in: the others sound like it.
    const auto came =
        heard(playedBy(*compiled.idiom, Density::medium, shape, barsPlayed), *compiled.idiom, firstJudged, barsPlayed);
    return agreement(was, came);
  };
  out.same = over(readOver);
  out.other = over(heardAlsoOver);
  return out;
}

}  // namespace seguente::test
