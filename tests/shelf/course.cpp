#include "tests/shelf/course.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "dsp/idiom_family.h"
#include "dsp/idiom_steps.h"
#include "tests/support/contracts.h"
#include "tests/support/random.h"

namespace seguente::test {

namespace {

/// Semitones above the root, and the third among them (0: it has none).
struct Kind {
  std::vector<int> tones;
  int third;
};

const Kind& kindOf(Chords chords) {
  static const std::array<Kind, chordKinds> kinds{{{{0, 4, 7}, 4},
                                                   {{0, 3, 7}, 3},
                                                   {{0, 4, 7, 10}, 4},
                                                   {{0, 3, 7, 10}, 3},
                                                   {{0, 4, 7, 11}, 4},
                                                   {{0, 3, 6}, 3},
                                                   {{0, 4, 8}, 4},
                                                   {{0, 5, 7}, 0},
                                                   {{0, 7}, 0}}};
  return kinds[static_cast<std::size_t>(chords)];
}

/// A close position whose lowest key lies from F2 to E3, some inversion of the chord.
std::string shapeOf(int root, Chords chords, int inversion) {
  auto tones = kindOf(chords).tones;
  const auto turn = static_cast<std::size_t>(inversion) % tones.size();
  std::rotate(tones.begin(), tones.begin() + static_cast<std::ptrdiff_t>(turn), tones.end());
  int below = 40;
  std::string names;
  for (const int tone : tones) {
    const int wanted = (root + tone) % 12;
    int key = below + 1 + ((wanted - below - 1) % 12 + 12) % 12;
    below = key;
    names += (names.empty() ? "" : " ") + keyName({static_cast<std::uint8_t>(key)});
  }
  return names;
}

struct Change {
  Ticks at;
  Ticks length;
};

struct Piece {
  std::vector<Change> changes;
  Ticks end;
};

/// From half a beat to eight bars a chord, most often a bar; the last chord has four bars.
void write(Score& score, const Course& course, double tempo, Piece& piece) {
  Random random(course.seed);
  const Ticks bar = course.meter.bar(), beat = course.meter.beat();
  // Half a beat, where that is a quarter of a second: what comes sooner after a beat is taken for late.
  Ticks shortest{std::max(beat.value, quarter.value) / 2};
  if (static_cast<double>(shortest.value) * 60 / tempo < 0.25 * static_cast<double>(quarter.value))
    shortest = shortest * 2;
  constexpr std::array<int, 6> roots{0, 5, 7, 9, 2, 4};
  Ticks at{};
  const Ticks last = bar * course.bars;
  for (int i = 0; at < last; ++i) {
    const int kind = static_cast<int>(random.between(0, 12 - 1));
    Ticks length = kind < 6 ? bar : kind == 6 ? beat : kind == 7 ? shortest : kind == 8 ? beat * 2 : bar * 2;
    if (kind == 11) length = bar * (static_cast<int>(random.between(0, 3 - 1)) == 0 ? 8 : 4);
    if (at + length > last) length = last - at;
    const int root =
        (course.key + roots[static_cast<std::size_t>(i == 0 ? 0 : static_cast<int>(random.between(0, 6 - 1)))]) % 12;
    const auto chords = i % 3 == 2 ? Chords::major : course.chords;
    score.chord(shapeOf(root, chords, static_cast<int>(random.between(0, 4 - 1))), at,
                at + length - Ticks{beat.value / 16});
    piece.changes.push_back({at, length});
    at = at + length;
  }
  score.chord(shapeOf(course.key, Chords::major, 0), at, at + bar * 4);
  piece.changes.push_back({at, bar * 4});
  score.signal(Gesture::end, at + bar * 2 - Ticks{beat.value / 4});
  piece.end = at + bar * 6;
}

struct Sounding {
  const Event* on;
  Samples off;
};

std::vector<Sounding> soundingNotes(const Rendering& r) {
  std::vector<Sounding> out;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::noteOn && e.noteId != 0) out.push_back({&e, endOf(r, e.noteId)});
  return out;
}

/// The lowest places that no list allows (REFERENCES section 4): a second below Eb3, a minor third below C3, a major
/// third below A2, a fifth below A1. Said again here, apart from dsp/voicing.h.
bool tooLow(int lower, int upper) {
  static const std::map<int, int> lowest{{1, 51}, {2, 51}, {3, 48}, {4, 45}, {7, 33}};
  const auto found = lowest.find(upper - lower);
  return found != lowest.end() && lower < found->second;
}

bool strongBeat(Ticks tick, Meter meter) {
  const auto within = tick.value % meter.bar().value, beat = meter.beat().value;
  if (within == 0) return true;
  const bool compound = meter.numerator % 3 == 0 && meter.numerator > 3;
  if (compound) return within % (3 * beat) == 0;
  return meter.numerator == 4 && within == 2 * beat;
}

/// A chord as it was named at last, and from where on it counts.
struct Heard {
  Chord chord;
  Ticks from;
};

/// Each chord that is another than the one before: its bass, its third.
template <class Judge>
void judgeChords(const Course& course, const Idiom& member, const std::vector<Event>& ours,
                 const std::map<std::uint32_t, Heard>& chords, Found& found, Judge&& judge) {
  const Chord* before = nullptr;
  for (auto it = chords.begin(); it != chords.end(); ++it) {
    const Chord& chord = it->second.chord;
    const auto next = std::next(it);
    const bool repeated = before != nullptr && before->root == chord.root;  // its bass lies there already
    before = &chord;
    if (repeated) continue;
    const Ticks from = it->second.from;
    // A figure written in a longer bar than the tune's has that bar's time for its third.
    const Ticks bar = std::max(course.meter.bar(), member.anyMeter ? Ticks{} : member.meter.bar());
    const Event* bass = nullptr;
    bool third = false;
    for (const auto& e : ours) {
      if (e.reason.chordId != it->first) continue;
      if (bass == nullptr && member.parts[e.reason.part].kind == PartKind::bass) bass = &e;
      const int up = ((e.note().value - chord.root.value) % 12 + 12) % 12;
      third = third || ((up == 3 || up == 4) && e.reason.dueTick < from + bar);
    }
    int wanted = chord.bass.value;  // a foreign note that the hand set under it, or else the root
    bool hasThird = false;
    for (std::size_t i = 0; i < chord.count; ++i) {
      if ((chord.root.value + chord.tones[i]) % 12 == chord.bass.value) wanted = chord.root.value;
      hasThird = hasThird || chord.tones[i] == 3 || chord.tones[i] == 4;
    }
    if (bass != nullptr)
      judge(found.root, 1, bass->note().value % 12 == wanted, bass->reason.dueTick,
            "bass " + keyName(bass->note()) + " for " + std::to_string(wanted));
    const bool whole = next == chords.end() || next->second.from >= from + bar;
    if (hasThird && found.thirdIsThere && whole && from.value % bar.value == 0)
      judge(found.third, 0, third, from, "no third in its first bar");
  }
}

}  // namespace

std::string Course::text() const {
  return id + ", density " + std::to_string(static_cast<int>(density)) + ", " + seguente::textOf(meter) + ", key " +
         std::to_string(key) + ", chords " + std::to_string(static_cast<int>(chords)) + ", seed " +
         std::to_string(seed);
}

void Found::add(const Found& o) {
  third.add(o.third);
  root.add(o.root);
  strong.add(o.strong);
  low.add(o.low);
  hand.add(o.hand);
  leap.add(o.leap);
  change.add(o.change);
  ending.add(o.ending);
  anticipated += o.anticipated;
  leading += o.leading;
  blue += o.blue;
  sixth += o.sixth;
  if (contract.empty()) contract = o.contract;
  for (std::size_t i = 0; i < first.size(); ++i)
    if (first[i].empty()) first[i] = o.first[i];
}

Found run(const Course& course) {
  Found found;
  const Idiom& asked = idiom(course.id);
  const Idiom* const member = inMeter(asked, course.meter);
  if (member == nullptr) {
    found.contract = "no relative";
    return found;
  }
  const bool lean = course.density == Density::lean;
  const double tempo = lean ? member->tempoHigh : std::sqrt(member->tempoLow * member->tempoHigh);
  Score score(48000, course.meter, tempo);
  Settings settings;
  settings.density = course.density;
  settings.split = {66};
  score.with(settings).with(asked).tune("C7", {}, quarters(0.1));
  Piece piece;
  write(score, course, tempo, piece);
  const auto inputs = score.inputs();
  const Rendering r = render(score, piece.end);
  found.contract = brokenContract(r, inputs);
  if (!found.contract.empty()) found.contract = course.text() + ": " + found.contract;

  const auto where = [&](Ticks tick) { return course.text() + ": " + place(tick, score.stretches().front()); };
  const auto judge = [&](Share& share, std::size_t fault, bool right, Ticks tick, const std::string& what) {
    share.add(right);
    if (!right && found.first[fault].empty()) found.first[fault] = where(tick) + " " + what;
  };

  // What the figure has to say at all.
  found.thirdIsThere = false;
  for (const auto ref : {member->at(course.density).statement})
    for (const Step& step : member->stepsOf(member->figure(ref))) {
      found.thirdIsThere = found.thirdIsThere || step.play.kind == PlayKind::upper;
      for (std::size_t d = 0; d < step.play.count; ++d)
        found.thirdIsThere =
            found.thirdIsThere || step.play.degrees[d].number == 3 || step.play.degrees[d].number == 10;
    }

  std::map<std::uint32_t, Heard> chords;
  for (const auto& f : r.facts)
    if (f.fact.kind == FactKind::chord && f.chord) chords[f.fact.id] = {*f.chord, f.fact.tick};

  std::vector<Event> ours;
  for (const auto& e : strikes(r))
    if (member->parts[e.reason.part].kind != PartKind::percussion) ours.push_back(e);

  judgeChords(course, *member, ours, chords, found, judge);

  // Strong beats.
  for (const auto& e : ours) {
    if (!strongBeat(e.reason.dueTick, course.meter) || !chords.contains(e.reason.chordId)) continue;
    const Chord& chord = chords[e.reason.chordId].chord;
    const int up = ((e.note().value - chord.root.value) % 12 + 12) % 12;
    bool tone = e.note().value % 12 == chord.bass.value;
    for (std::size_t i = 0; i < chord.count; ++i) tone = tone || chord.tones[i] % 12 == up;
    if (tone) {
      found.strong.add(true);
    } else if (e.reason.play == PlayKind::nextBass) {
      ++found.anticipated;
    } else if (e.reason.play == PlayKind::approach) {
      ++found.leading;
    } else if (e.reason.degree.alteration < 0) {
      ++found.blue;
    } else if (e.reason.degree.number % 7 == 6) {
      ++found.sixth;
    } else {
      judge(found.strong, 2, false, e.reason.dueTick, keyName(e.note()) + " is no tone of the chord");
    }
  }

  // What sounds together, stroke by stroke.
  const auto notes = soundingNotes(r);
  int lastLow = -1, lastHigh = -1;
  Ticks lastAt{};
  std::uint32_t lastChord = 0;
  for (std::size_t i = 0; i < ours.size();) {
    const Samples at = ours[i].sample;
    const Ticks tick = ours[i].tick;
    int strokeLow = 127, strokeHigh = 0;
    for (; i < ours.size() && ours[i].sample == at; ++i) {
      strokeLow = std::min<int>(strokeLow, ours[i].note().value);
      strokeHigh = std::max<int>(strokeHigh, ours[i].note().value);
    }
    std::vector<int> keys;
    for (const auto& n : notes)  // half a millisecond is legato, rounded
      if (n.on->sample <= at && n.off > at + Samples{24} &&
          member->parts[n.on->reason.part].kind != PartKind::percussion)
        keys.push_back(n.on->note().value);
    std::sort(keys.begin(), keys.end());
    keys.erase(std::unique(keys.begin(), keys.end()), keys.end());
    // A second over a low root cannot be clear and within one hand's octave too: the hand goes before.
    const auto named = chords.find(ours[i - 1].reason.chordId);
    const bool second = lean && named != chords.end() && named->second.chord.tones[1] == 2;
    bool clear = true;
    std::string said;
    for (std::size_t k = 0; k < keys.size(); ++k) {
      said += keyName({static_cast<std::uint8_t>(keys[k])}) + " ";
      if (k > 0) clear = clear && (second || !tooLow(keys[k - 1], keys[k]));
    }
    judge(found.low, 3, clear, tick, said + "lies too low");
    if (!lean) continue;
    if (!keys.empty())
      judge(found.hand, 4, keys.back() - keys.front() <= 12 && keys.size() <= 5, tick, said + "is no one hand's");
    // The hand lies over what it struck last, as far as an octave; a leap is how far it must move from there.
    const bool other = ours[i - 1].reason.chordId != lastChord;
    lastChord = ours[i - 1].reason.chordId;
    const bool within = lastLow >= 0 && std::max(strokeHigh, lastHigh) - std::min(strokeLow, lastLow) <= 12;
    if (lastLow >= 0 && !within) {
      const int leap = std::min(std::abs(strokeLow - lastLow), std::abs(strokeHigh - lastHigh));
      const double seconds =
          static_cast<double>((tick - lastAt).value) / static_cast<double>(quarter.value) * 60 / tempo;
      const double needed = leap > 16 ? 0.5 : leap > 12 ? 0.25 : 0;  // common practice, as dsp/idiom_hand.h states it
      const bool good = seconds + 0.001 >= needed;
      if (other)
        found.change.add(good);
      else
        judge(found.leap, 5, good, tick,
              said + "after a leap of " + std::to_string(leap) + " in " + std::to_string(seconds) + " s");
    } else {
      found.leap.add(true);
    }
    lastLow = within ? std::min(strokeLow, lastLow) : strokeLow;
    lastHigh = within ? std::max(strokeHigh, lastHigh) : strokeHigh;
    lastAt = tick;
  }

  // The end: asked for in the last chord's second bar, the figure's own end, and then nothing.
  const Change& last = piece.changes.back();
  const Ticks asked_ = last.at + course.meter.bar() * 2 - Ticks{course.meter.beat().value / 4};
  const FigureRef end = member->at(course.density).end;
  const Ticks longest = course.meter.bar() + (end.there() ? member->figure(end).length : Ticks{});
  bool right = false, stray = false;
  int lowest = 128;
  Ticks lastStroke{};
  for (const auto& e : ours) {
    if (e.reason.dueTick < asked_ || e.reason.reason != Reason::cadence) {
      stray = stray || e.reason.dueTick >= asked_ + course.meter.beat();
      continue;
    }
    right = true;
    stray = stray || e.reason.dueTick > asked_ + longest;
    if (e.reason.dueTick != lastStroke) lowest = 128;
    lastStroke = e.reason.dueTick;
    lowest = std::min<int>(lowest, e.note().value);
  }
  for (const auto& n : notes) stray = stray || n.off > score.sampleOf(piece.end);
  judge(found.ending, 6, right && !stray, last.at, stray ? "a stray stroke after the end" : "no end");
  return found;
}

}  // namespace seguente::test
