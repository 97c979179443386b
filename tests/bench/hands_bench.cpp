// How well hands are told apart: generated performances of the half that is kept apart (other tunes, other seeds),
// through the whole engine. One row a group. hands_bench [--performances N] [--method
// fixed|rules|beam|listening|channels|told]
// [--group NAME] [--flat 1]: every key as hard as any other; [--half learn]: the half on which is tuned, with seeds
// that were not learnt from; [--why 1]: each wrong sound, with what was played and heard around it
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <map>

#include "dsp/chord_types.h"
#include "dsp/engine.h"
#include "tests/bench/hands_sounds.h"
#include "tests/performances/rules.h"
#include "tests/performances/tally.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;

enum class Method { fixed, rules, beam, listening, channels, told };
constexpr const char* methodNames[] = {
    "fixed split at C4", "rules", "beam search", "listening", "channels: listening, each hand on its own",
    "told the hands"};

Samples sampleOf(double seconds) { return {std::llround(seconds * rate)}; }

struct HeardChord {
  double at = 0;
  int root = -1, type = -1;  // none: -1
};

struct Run {
  std::vector<JudgedNote> judged;
  std::vector<std::int64_t> noteOfInput;
  std::vector<HeardChord> chords;
  std::map<std::uint32_t, std::size_t> noteOfFact;

  std::vector<Sounded> ours;
  std::vector<Sounded> passed;                    // by note; to < from: it did not sound
  std::map<std::uint32_t, std::size_t> sounding;  // ours, by note id
  std::map<int, std::size_t> tune;                // by channel and key

  /// What passed of a key ends here.
  void tuneUp(const std::array<std::uint8_t, 3>& bytes, double at) {
    const auto found = tune.find((bytes[0] & 15) * 128 + bytes[1]);
    if (found == tune.end()) return;
    passed[found->second].to = at;
    tune.erase(found);
  }
  static void midi(void* context, const Output& o) {
    auto& r = *static_cast<Run*>(context);
    const double at = static_cast<double>(o.sample.value) / rate;
    const bool on = (o.bytes[0] & 0xF0) == 0x90 && o.bytes[2] > 0;
    if (o.kind == OutputKind::passed) {
      const bool off = (o.bytes[0] & 0xF0) == 0x80;
      if (on || off) r.tuneUp(o.bytes, at);
      if (!on) return;
      const auto note = static_cast<std::size_t>(r.noteOfInput[o.inputIndex]);
      r.passed[note] = {at, 1e9, at, o.bytes[1], 0};
      r.tune[(o.bytes[0] & 15) * 128 + o.bytes[1]] = note;
    } else if (o.kind == OutputKind::noteOn && o.reason != nullptr) {
      r.sounding[o.noteId] = r.ours.size();
      r.ours.push_back({at, 1e9, static_cast<double>(o.reason->due.value) / rate, o.bytes[1], o.reason->chordId});
    } else if (o.kind == OutputKind::noteOff && o.noteId == 0) {
      r.tuneUp(o.bytes, at);
    } else if (o.kind == OutputKind::noteOff) {
      if (const auto found = r.sounding.find(o.noteId); found != r.sounding.end()) r.ours[found->second].to = at;
    }
  }
  static void fact(void* context, const Fact& f) {
    auto& r = *static_cast<Run*>(context);
    const double at = static_cast<double>(f.sample.value) / rate;
    if (f.kind == FactKind::chord) {
      HeardChord c{at, -1, -1};
      if (f.readings != nullptr && f.readings->count > 0)
        c = {at, f.readings->best().root.value, f.readings->best().type.value};
      if (r.chords.empty() || r.chords.back().root != c.root || r.chords.back().type != c.type) r.chords.push_back(c);
    }
    if (f.kind != FactKind::hand) return;
    if (f.revision == 0) {
      const auto note = static_cast<std::size_t>(r.noteOfInput[f.inputIndex]);
      r.noteOfFact[f.id] = note;
      auto& j = r.judged[note];
      j.verdict = j.finally = f.verdict;
      j.first = j.last = f.hand;
      j.odds = f.hand == Hand::melody ? 300 : -300;
    } else {
      auto& j = r.judged[r.noteOfFact.at(f.id)];
      j.finally = f.verdict;
      j.last = f.hand;
    }
  }
};

struct Timed {
  Samples at{};
  int order = 0;
  std::int64_t note = -1;
  MidiMessage message{};
};

std::vector<Timed> messagesOf(const TwoHands& p, const std::vector<Hand>& channels) {
  std::vector<Timed> out;
  const auto add = [&](double when, int order, std::int64_t note, int status, int a, int b) {
    out.push_back(
        {sampleOf(when),
         order,
         note,
         {{static_cast<std::uint8_t>(status), static_cast<std::uint8_t>(a), static_cast<std::uint8_t>(b)}, 3}});
  };
  for (std::size_t i = 0; i < p.notes.size(); ++i) {
    const auto& n = p.notes[i];
    const int channel = !channels.empty() && channels[i] == Hand::chord ? 1 : 0;
    add(n.on, 2, static_cast<std::int64_t>(i), 0x90 | channel, n.key, n.velocity);
    add(std::max(n.off, n.on + 0.001), 0, -1, 0x80 | channel, n.key, 64);
  }
  for (const auto& m : p.pedal)
    for (int channel = 0; channel < (channels.empty() ? 1 : 2); ++channel)
      add(m.at, 1, -1, 0xB0 | channel, 64, m.down ? 127 : 0);
  std::stable_sort(out.begin(), out.end(),
                   [](const Timed& a, const Timed& b) { return a.at != b.at ? a.at < b.at : a.order < b.order; });
  return out;
}

Run hear(const TwoHands& p, Method method) {
  std::vector<Hand> channels;
  Settings settings;
  settings.handRule = method == Method::fixed                                     ? HandRule::byKey
                      : method == Method::listening || method == Method::channels ? HandRule::automatic
                                                                                  : HandRule::byChannel;
  if (settings.handRule == HandRule::byChannel) {
    settings.melodyChannels = 1;
    settings.chordChannels = 2;
    if (method == Method::rules) channels = handsByRules(p);
    if (method == Method::beam) channels = handsByRules(p, 32);
  }
  if (method == Method::told || method == Method::channels)
    for (const auto& n : p.notes) channels.push_back(n.hand);
  Run run;
  run.judged.resize(p.notes.size());
  run.passed.resize(p.notes.size(), {0, -1, 0, 0, 0});
  std::vector<Input> inputs;
  const auto push = [&](const Input& input, std::int64_t note) {
    inputs.push_back(input);
    run.noteOfInput.push_back(note);
  };
  TimeAnchor anchor;
  anchor.meter = p.meter;
  anchor.quartersPerMinute = p.quartersPerMinute;
  anchor.tick = {static_cast<std::int64_t>(-0.3 * p.quartersPerMinute / 60 * static_cast<double>(quarter.value))};
  anchor.barStart = {std::llround(p.pickup * static_cast<double>(quarter.value))};
  push(Input::of(Samples{}, anchor), -1);
  push(Input::of(Samples{}, settings), -1);
  push(Input::of(Samples{}, IdiomRef{&idiom("held-chords"), 1}), -1);
  for (const auto& m : messagesOf(p, channels)) push(Input::of(m.at, m.message), m.note);
  Engine engine;
  engine.prepare(rate);
  engine.process(inputs, sampleOf(p.end), {&run, Run::midi, Run::fact});
  return run;
}

struct ChordTally {
  double time = 0, root = 0, majorMinor = 0, exact = 0;
  int spurious = 0, tunes = 0;

  static int thirdOf(int type) {
    if (type < 0 || type == 255) return -1;
    const auto& t = chordTypeOf(ChordTypeId{static_cast<std::uint8_t>(type)});
    return t.has(4) ? 4 : t.has(3) ? 3 : 0;
  }
  void add(const TwoHands& p, const Run& r) {
    ++tunes;
    for (const auto& truth : p.chords) {
      if (truth.to - truth.from < 0.02) continue;
      time += truth.to - truth.from;
      for (std::size_t i = 0; i < r.chords.size(); ++i) {
        const double from = std::max(truth.from, r.chords[i].at);
        const double to = std::min(truth.to, i + 1 < r.chords.size() ? r.chords[i + 1].at : 1e9);
        if (to <= from || r.chords[i].root != truth.chord.root.value) continue;
        root += to - from;
        if (thirdOf(r.chords[i].type) == thirdOf(truth.chord.type.value)) majorMinor += to - from;
        if (r.chords[i].type == truth.chord.type.value) exact += to - from;
      }
    }
    if (p.group == Group::free) return;
    for (const auto& c : r.chords) {
      bool landed = c.root < 0;  // the hand let go
      for (const auto& n : p.notes)
        landed = landed || (n.hand == Hand::chord && n.on > c.at - 0.2 && n.on <= c.at + 0.001);
      spurious += !landed;
    }
  }
};

std::string symbolOf(int type) {
  return type < 0 || type == 255 ? "-"
                                 : std::string(chordTypeOf(ChordTypeId{static_cast<std::uint8_t>(type)}).symbol());
}

/// Each wrong sound of a performance, with what was played and heard around it.
void printWrong(int number, const TwoHands& p, const Run& r, const SoundTally& sounds) {
  for (const auto& w : sounds.last) {
    std::printf("  %d %s %s: key %d at %.3f for %.0f ms\n   played (ms, key, hand; verdicts):", number, p.tune.c_str(),
                SoundTally::names[w.kind], w.key, w.at, 1000 * w.seconds);
    for (std::size_t i = 0; i < p.notes.size(); ++i) {
      const auto& n = p.notes[i];
      if (n.off < w.at - 0.1 || n.on > w.at + 0.3) continue;
      std::printf(" %.0f-%.0f:%d%c%d%d(%d)", 1000 * (n.on - w.at), 1000 * (n.off - w.at), n.key,
                  n.hand == Hand::chord ? 'c' : 'm', static_cast<int>(r.judged[i].verdict),
                  static_cast<int>(r.judged[i].finally), n.velocity);
    }
    std::printf("\n   heard:");
    for (const auto& c : r.chords)
      if (c.at > w.at - 0.5 && c.at < w.at + 0.5)
        std::printf(" %.0f:%d%s", 1000 * (c.at - w.at), c.root, symbolOf(c.type).c_str());
    for (const auto& c : p.chords)
      if (c.from > w.at - 0.5 && c.from < w.at + 0.3)
        std::printf(" | meant %.0f:%d%s", 1000 * (c.from - w.at), c.chord.root.value,
                    symbolOf(c.chord.type.value).c_str());
    std::printf("\n   ours:");
    for (const auto& s : r.ours)
      if (s.from > w.at - 0.3 && s.from < w.at + 0.3)
        std::printf(" %.0f-%.0f:%d", 1000 * (s.from - w.at), 1000 * (s.to - w.at), s.key);
    std::printf("\n");
  }
}

void printSounds(const std::vector<Group>& groups, const std::vector<SoundTally>& heard) {
  std::printf(
      "%-18s %8s | from max(beat, last finger), ms: %6s %6s %6s | wrong sounds a hundred chords, > 20 ms (> 40)\n",
      "group", "chords", "median", "95 %", "99 %");
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const SoundTally& t = heard[g];
    std::printf("%-18s %8d | %31s %6.1f %6.1f %6.1f |", groupName(groups[g]), t.chords, "", t.delayAt(0.5),
                t.delayAt(0.95), t.delayAt(0.99));
    for (int kind = 0; kind < SoundTally::kinds; ++kind)
      std::printf(" %s %.2f (%.2f)", SoundTally::names[static_cast<std::size_t>(kind)], t.perHundred(kind, 0),
                  t.perHundred(kind, 1));
    std::printf("\n");
  }
}

}  // namespace

int main(int argc, char** argv) {
  int count = 1000;
  std::vector<Method> methods = {Method::fixed,     Method::rules,    Method::beam,
                                 Method::listening, Method::channels, Method::told};
  const char* only = nullptr;
  bool flat = false, why = false;
  auto half = Half::report;
  for (int i = 1; i + 1 < argc; i += 2) {
    if (std::strcmp(argv[i], "--performances") == 0) count = std::stoi(argv[i + 1]);
    if (std::strcmp(argv[i], "--why") == 0) why = std::stoi(argv[i + 1]) != 0;
    if (std::strcmp(argv[i], "--flat") == 0) flat = std::stoi(argv[i + 1]) != 0;
    if (std::strcmp(argv[i], "--half") == 0 && std::strcmp(argv[i + 1], "learn") == 0) half = Half::learn;
    if (std::strcmp(argv[i], "--group") == 0) only = argv[i + 1];
    if (std::strcmp(argv[i], "--method") == 0) {
      methods.clear();
      for (int m = 0; m < 6; ++m)
        if (std::strncmp(methodNames[m], argv[i + 1], std::strlen(argv[i + 1])) == 0)
          methods.push_back(static_cast<Method>(m));
    }
  }
  for (const auto method : methods) {
    std::vector<SoundTally> heard;
    std::vector<Group> reported;
    std::printf("\n%s: %d performances a group, of %s\n", methodNames[static_cast<int>(method)], count,
                half == Half::learn ? "the tunes on which is tuned" : "tunes and seeds that were not learnt from");
    std::printf("%-18s %8s %6s %7s | %6s %6s %6s %6s | %6s %6s %6s | %8s\n", "group", "at once", "+-", "after", "lent",
                "withdr", "wrong", "late", "root", "majmin", "exact", "spurious");
    for (std::size_t g = 0; g < groupCount; ++g) {
      const auto group = static_cast<Group>(g);
      if (only != nullptr && std::strstr(groupName(group), only) == nullptr) continue;
      HandTally hands;
      ChordTally chords;
      SoundTally sounds;
      for (int i = 0; i < count; ++i) {
        auto played =
            performanceOf(group, half, (half == Half::learn ? 500000u : 0u) + static_cast<std::uint64_t>(i) + 1, false);
        if (flat)
          for (auto& n : played.notes) n.velocity = 64;
        const auto run = hear(played, method);
        hands.add(played, run.judged);
        chords.add(played, run);
        if (group != Group::free) sounds.add(played, run.ours, run.passed);
        if (why && group != Group::free) printWrong(i, played, run, sounds);
      }
      if (group != Group::free) {
        heard.push_back(std::move(sounds));
        reported.push_back(group);
      }
      std::printf("%-18s %8.2f %6.2f %7.2f | %6.2f %6.2f %6.2f %6.2f | ", groupName(group), hands.atOnce(),
                  hands.interval(), hands.after(), hands.perThousand(hands.lent), hands.perThousand(hands.withdrawn),
                  hands.perThousand(hands.wronglyWithdrawn), hands.perThousand(hands.late));
      if (group == Group::free)
        std::printf("%6s %6s %6s | %8s\n", "-", "-", "-", "-");
      else
        std::printf("%6.2f %6.2f %6.2f | %8.2f\n", 100 * chords.root / chords.time,
                    100 * chords.majorMinor / chords.time, 100 * chords.exact / chords.time,
                    static_cast<double>(chords.spurious) / chords.tunes);
      std::fflush(stdout);
    }
    printSounds(reported, heard);
  }
  return 0;
}
