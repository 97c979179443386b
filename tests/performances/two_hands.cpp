#include "tests/performances/two_hands.h"

#include <algorithm>
#include <cmath>

#include "tests/performances/left_hand.h"

namespace seguente::test {

namespace {

bool inChord(const Chord& chord, int key) {
  for (std::size_t i = 0; i < chord.count; ++i)
    if ((chord.root.value + chord.tones[i]) % 12 == (key + 120) % 12) return true;
  return false;
}

/// Where a quarter note lies in seconds: the tempo breathes over two bars and by chance, and may stop and wait.
class TimeMap {
 public:
  TimeMap(const Tune& tune, double rubato, Random& random) : spq_(60 / tune.quartersPerMinute) {
    const double phase = unit(random) * 6.28;
    double now = 0.3, drift = 0;
    const auto steps = static_cast<int>((tune.length + 16) * 4);
    for (int i = 0; i <= steps; ++i) {
      seconds_.push_back(now);
      drift = 0.95 * drift + around(rubato * 0.2, random);
      now += spq_ / 4 * (1 + rubato * std::sin(phase + i * 6.28 / (8 * tune.bar)) + drift);
    }
  }
  void wait(double at, double seconds) { waits_.push_back({at, seconds}); }
  double at(double quarters) const {
    const double place = std::max(0.0, quarters * 4);
    const auto i = std::min(static_cast<std::size_t>(place), seconds_.size() - 2);
    double t = seconds_[i] + (seconds_[i + 1] - seconds_[i]) * (place - static_cast<double>(i));
    for (const auto& [from, seconds] : waits_)
      if (quarters > from - 0.01) t += seconds;
    return t;
  }

 private:
  double spq_;
  std::vector<double> seconds_;
  std::vector<std::pair<double, double>> waits_;
};

class Player {
 public:
  Player(const Tune& tune, Group group, const Style& style, const Touch& touch, Random& random)
      : tune_(tune),
        style_(style),
        touch_(touch),
        random_(random),
        time_(tune_, style.grid ? 0 : style.rubato, random) {
    out_.group = group;
    out_.tune = tune.name;
    out_.meter = tune.meter;
    out_.quartersPerMinute = tune.quartersPerMinute;
    out_.pickup = tune.pickup;
    out_.grid = style.grid;
  }

  TwoHands play() {
    if (style_.introBars > 0) addIntro();
    if (style_.learner) beginBarsAgain();
    planPhrases();
    leftStrokes();
    rightStrokes();
    if (style_.learner) hesitate();
    for (const auto& s : left_) strike(s, Hand::chord);
    for (const auto& s : right_) strike(s, Hand::melody);
    if (style_.pedal) pedal();
    slip();
    finish();
    return std::move(out_);
  }

 private:
  struct Phrase {
    int leftShift = 0, rightShift = 0;
    LeftFigure figure = LeftFigure::held;
    RightTexture texture = RightTexture::line;
    double leftLength = 1, rightLength = 1;  // detached playing is shorter
    bool swapped = false;                    // the tune lies under the chords
  };

  bool chance(double p) { return unit(random_) < p; }

  void addIntro() {
    const double add = style_.introBars * tune_.bar;
    for (auto& n : tune_.melody) n.at += add;
    for (auto& c : tune_.chords) c.at += add;
    tune_.length += add;
    out_.pickup += add;
    std::vector<TuneChord> intro;
    for (int bar = 0; bar < style_.introBars; ++bar)
      intro.push_back({tune_.pickup + bar * tune_.bar, tune_.bar,
                       tune_.chords[static_cast<std::size_t>(bar) % tune_.chords.size()].chord});
    tune_.chords.insert(tune_.chords.begin(), intro.begin(), intro.end());
  }

  /// One or two bars are begun again.
  void beginBarsAgain() {
    for (int again = 0; again < 2; ++again) {
      const auto bars = static_cast<int>((tune_.length - out_.pickup) / tune_.bar);
      if (bars < 4) return;
      const double at = out_.pickup + static_cast<double>(random_.between(1, bars - 2)) * tune_.bar;
      Tune t = tune_;
      t.melody.clear();
      t.chords.clear();
      const auto copy = [&](const auto& from, auto& to, double low, double high, double shift) {
        for (auto x : from)
          if (x.at >= low - 0.001 && x.at < high - 0.001) {
            x.length = std::min(x.length, high - x.at);
            x.at += shift;
            to.push_back(x);
          }
      };
      for (const auto& [low, high, shift] : {std::tuple{-1.0, at + tune_.bar, 0.0}, std::tuple{at, 1e9, tune_.bar}}) {
        copy(tune_.melody, t.melody, low, high, shift);
        copy(tune_.chords, t.chords, low, high, shift);
      }
      t.length += tune_.bar;
      tune_ = t;
      time_.wait(at + tune_.bar, 0.3 + unit(random_));
    }
  }

  void planPhrases() {
    const double length = 4 * tune_.bar;
    const auto count = static_cast<std::size_t>(tune_.length / length) + 2;
    for (std::size_t i = 0; i < count; ++i) {
      Phrase p;
      p.figure = style_.figure;
      p.texture = style_.texture;
      if (i > 0 && chance(style_.changeEachPhrase)) {
        p.figure = out_.group == Group::free ? anyFigure(random_) : style_.figure;
        p.texture = style_.hugging && out_.group == Group::free ? fullTexture(random_) : anyTexture(random_);
      }
      if (style_.drift > 0) {
        p.leftShift = static_cast<int>(random_.between(-style_.drift, style_.drift / 2));
        p.rightShift = random_.oneIn(3) ? 12 : 0;
      }
      if (chance(style_.detached)) p.leftLength = 0.3 + 0.6 * unit(random_);
      if (chance(style_.detached)) p.rightLength = 0.3 + 0.6 * unit(random_);
      if (style_.swapped > 0 && i > 0 && chance(style_.swapped)) swap(p);
      phrases_.push_back(p);
    }
  }
  /// The tune in the bass or tenor, the chords where it was.
  void swap(Phrase& p) {
    int high = 0;
    for (const auto& n : tune_.melody) high = std::max(high, n.key);
    p.swapped = true;
    p.texture = RightTexture::line;
    p.rightShift = -12 * ((high - static_cast<int>(random_.between(52, 60)) + 11) / 12);
    p.leftShift = std::max(
        0, high + p.rightShift + static_cast<int>(random_.between(7, 12)) - static_cast<int>(style_.leftCentre));
  }
  const Phrase& phraseAt(double at) const {
    return phrases_[std::min(static_cast<std::size_t>(std::max(0.0, at / (4 * tune_.bar))), phrases_.size() - 1)];
  }
  int tuneKey(const TuneNote& n) const { return n.key + phraseAt(n.at).rightShift; }

  /// The lowest tune key that sounds within a stretch.
  int lowestTune(double from, double to) const {
    int low = 100;
    for (const auto& n : tune_.melody)
      if (n.at < to - 0.01 && n.at + n.length > from + 0.01) low = std::min(low, tuneKey(n));
    return low;
  }

  int highestTune(double from, double to) const {
    int high = 0;
    for (const auto& n : tune_.melody)
      if (n.at < to - 0.01 && n.at + n.length > from + 0.01) high = std::max(high, tuneKey(n));
    return high;
  }

  void leftStrokes() {
    std::vector<int> last;
    const double beat = tune_.meter.denominator == 8 ? 1.5 : 1;
    for (const auto& c : tune_.chords) {
      const Phrase& phrase = phraseAt(c.at);
      if (c.at < out_.pickup + style_.leftEnters * tune_.bar - 0.01 && style_.leftEnters > 0) continue;
      if (chance(style_.leftRests) && c.at > 0) continue;
      const int tune = lowestTune(c.at, c.at + c.length);
      const double centre = style_.leftCentre + phrase.leftShift;
      auto ceiling = std::min(tune - style_.gapToTune + 1, static_cast<int>(centre) + 14);
      const bool voices = phrase.texture != RightTexture::line && phrase.texture != RightTexture::runs;
      if (voices && style_.hugging)
        ceiling -= static_cast<int>(random_.between(2, 9));  // room for the right hand's others
      Style reach = style_;
      if (phrase.swapped) {
        ceiling = static_cast<int>(centre) + 14;
        reach.hugging = false;
        reach.leftLowest = highestTune(c.at, c.at + c.length) + 13;  // shapes begin an octave below what is liked
      }
      auto shape = shapeFor(c.chord, reach, ceiling, centre, last, random_);
      if (shape.empty()) continue;
      last = shape;
      auto strokes = phrase.figure == LeftFigure::parallel
                         ? parallelTo(c, centre)
                         : strokesOf(phrase.figure, c, shape, tune_.bar, beat, style_, random_);
      for (auto& s : strokes) {
        int top = phrase.swapped || s.chordTruth
                      ? ceiling
                      : std::min(lowestTune(s.at, s.at + s.length), static_cast<int>(centre) + 18);
        if (chance(style_.interleaved)) top += 5;
        std::erase_if(s.keys, [&](int k) { return k >= top || k < 24; });
        if (!s.keys.empty()) left_.push_back(std::move(s));
      }
    }
  }

  /// With the tune's rhythm, a tenth or so below, in one voice or two.
  std::vector<Stroke> parallelTo(const TuneChord& c, double centre) {
    std::vector<Stroke> out;
    const bool two = random_.oneIn(2);
    for (const auto& n : tune_.melody) {
      if (n.at < c.at - 0.01 || n.at >= c.at + c.length - 0.01) continue;
      int key = tuneKey(n) - static_cast<int>(random_.between(7, 9));
      while (key > centre + 6) key -= 12;
      for (int tries = 0; tries < 4 && !inChord(c.chord, key); ++tries) --key;
      Stroke s{n.at, n.length, {key}};
      if (two) s.keys.insert(s.keys.begin(), chordToneBelow(key, 3, 12, &c.chord));
      if (!random_.oneIn(8)) out.push_back(s);
    }
    return out;
  }

  int highestLeft(double from, double to) const {
    int high = 0;
    for (const auto& s : left_)
      if (s.at < to - 0.01 && s.at + s.length > from + 0.01) high = std::max(high, s.keys.back());
    return high;
  }
  const Chord* chordAt(double at) const {
    const Chord* found = nullptr;
    for (const auto& c : tune_.chords)
      if (c.at <= at + 0.01) found = &c.chord;
    return found;
  }
  int chordToneBelow(int key, int least, int most, const Chord* chord) {
    for (int d = least; d <= most; ++d)
      if (chord == nullptr || inChord(*chord, key - d)) return key - d;
    return key - least;
  }

  void rightStrokes() {
    double innerUntil = -1;
    for (std::size_t i = 0; i < tune_.melody.size(); ++i) {
      const auto& n = tune_.melody[i];
      if (n.at < out_.pickup + style_.rightEnters * tune_.bar - 0.01 && style_.rightEnters > 0) continue;
      if (chance(style_.rightRests)) continue;
      const int key = tuneKey(n);
      const Chord* chord = chordAt(n.at);
      const auto texture = phraseAt(n.at).texture;
      const int floor = highestLeft(n.at, n.at + n.length) - (chance(style_.interleaved) ? 6 : 0);
      Stroke s{n.at, n.length, {}};
      const bool strong = std::fmod(n.at - out_.pickup + 1000 * tune_.bar, 1) < 0.01;
      const auto below = [&](int least, int most) {
        const int k = chordToneBelow(key, least, most, chord);
        if (k > floor) s.keys.push_back(k);
      };
      switch (texture) {
        case RightTexture::thirds:
          below(3, 5);
          break;
        case RightTexture::sixths:
          below(7, 9);
          break;
        case RightTexture::octaves:
          if (key - 12 > floor) s.keys.push_back(key - 12);
          break;
        case RightTexture::chords:
          if (strong || random_.oneIn(3)) {
            below(3, 5);
            if (random_.oneIn(2)) below(6, 9);
            if (random_.oneIn(3)) below(12, 12);
          }
          break;
        case RightTexture::twoVoices:
          if (n.at >= innerUntil - 0.01 && strong) {
            innerUntil = n.at + 1 + unit(random_) * 2;
            const int k = chordToneBelow(key, 3, 9, chord);
            if (k > highestLeft(n.at, innerUntil)) {
              bool free = true;  // the tune may not need the key while it is held
              for (const auto& m : tune_.melody) free = free && !(m.at > n.at && m.at < innerUntil && tuneKey(m) <= k);
              if (free) right_.push_back({n.at, innerUntil - n.at, {k}});
            }
          }
          break;
        case RightTexture::runs:
          if (n.length >= 1 && i + 1 < tune_.melody.size() && random_.oneIn(2)) {
            run(n, key, tuneKey(tune_.melody[i + 1]), floor);
            continue;
          }
          break;
        case RightTexture::chorale:
          if (!random_.oneIn(5)) below(3, 9);
          break;
        case RightTexture::inner:
          innerNotes(n, key, floor, chord);
          break;
        case RightTexture::line:
          break;
      }
      s.keys.push_back(key);
      std::sort(s.keys.begin(), s.keys.end());
      s.keys.erase(std::unique(s.keys.begin(), s.keys.end()), s.keys.end());
      right_.push_back(std::move(s));
    }
    std::stable_sort(right_.begin(), right_.end(), [](const Stroke& a, const Stroke& b) { return a.at < b.at; });
  }

  /// The tune is held and the same hand plays on beneath it.
  void innerNotes(const TuneNote& n, int key, int floor, const Chord* chord) {
    const double each = n.length >= 1 && random_.oneIn(2) ? 0.25 : 0.5;
    for (double at = each; at < n.length - 0.01; at += each) {
      const int k = chordToneBelow(key, static_cast<int>(random_.between(3, 6)), 12, chord);
      if (k > floor) right_.push_back({n.at + at, each, {k}});
    }
  }

  void run(const TuneNote& n, int key, int next, int floor) {
    const double each = random_.oneIn(2) ? 0.25 : 0.5;
    const bool arpeggio = random_.oneIn(2);
    int direction = next >= key ? 1 : -1, now = key;
    for (double at = 0; at < n.length - 0.01; at += each) {
      right_.push_back({n.at + at, each, {now}});
      now += direction * static_cast<int>(arpeggio ? random_.between(3, 5) : random_.between(1, 2));
      if (random_.oneIn(5) || now <= floor + 2) direction = now <= floor + 2 ? 1 : -direction;
      now = std::max(now, floor + 1);
    }
  }

  /// A hand searches for the next chord, or strikes a wrong one and mends it; the other waits.
  void hesitate() {
    std::vector<Stroke> mended;
    for (auto& s : left_) {
      const auto draw = random_.between(0, 99);
      if (draw < 10) {
        time_.wait(s.at, 0.5 + 1.5 * unit(random_));
      } else if (draw < 16 && s.keys.size() > 2) {
        Stroke wrong = s;
        wrong.chordTruth = false;
        const double seconds = 0.35 + 0.7 * unit(random_);
        for (auto& k : wrong.keys) k += static_cast<int>(random_.between(-2, 2));
        std::sort(wrong.keys.begin(), wrong.keys.end());
        wrong.keys.erase(std::unique(wrong.keys.begin(), wrong.keys.end()), wrong.keys.end());
        wrong.length = std::min(wrong.length, seconds * tune_.quartersPerMinute / 60 * 0.8);
        s.late = seconds;
        time_.wait(s.at + 0.05, seconds);
        mended.push_back(wrong);
      }
    }
    left_.insert(left_.end(), mended.begin(), mended.end());
    std::stable_sort(left_.begin(), left_.end(), [](const Stroke& a, const Stroke& b) { return a.at < b.at; });
  }

  double milliseconds(const char* what) { return style_.grid ? 0 : touch_.draw(what, random_) / 1000; }

  int velocity(Hand hand, bool top, double at) {
    if (style_.flat) return std::clamp(style_.rightVelocity, 1, 127);
    const double fromBar = std::fmod(at - out_.pickup + 1000 * tune_.bar, tune_.bar);
    const int accent = fromBar < 0.01 ? 5 : 0;
    const int base =
        hand == Hand::melody ? style_.rightVelocity - (top ? 0 : style_.tuneOverInner) : style_.leftVelocity;
    return std::clamp(base + accent + static_cast<int>(around(2.0 * style_.velocitySpread, random_)), 1, 127);
  }

  double leadAt(double at) {
    if (at != leadPlace_) {
      leadPlace_ = at;
      lead_ = milliseconds("melody lead over left hand") / 2;
    }
    return lead_;
  }

  void strike(const Stroke& s, Hand hand) {
    const bool right = hand == Hand::melody;
    const std::size_t n = s.keys.size();
    double spread = 0;
    if (n > 1)
      spread = milliseconds(n == 2 ? (right ? "R hand spread, 2 notes" : "L hand spread, 2 notes")
                                   : (right ? "R hand spread, 3+ notes" : "L hand spread, 3+ notes"));
    const bool roll = n > 2 && chance(style_.rolled) && !style_.grid;
    if (roll) spread = 0.08 + 0.2 * unit(random_);
    const double first = std::max(0.02, time_.at(s.at) + s.late + (right ? -leadAt(s.at) : leadAt(s.at) - spread / 2));
    double last = time_.at(s.at + s.length);
    double gap =
        milliseconds(right ? "R hand, last key up to next chord down" : "L hand, last key up to next chord down");
    const double length = std::max(0.05, last - first);
    gap = std::clamp(gap, right ? -0.06 : -0.05, length * (right ? 0.35 : 0.4));
    if (style_.grid) gap = 0.01;
    last -= gap;
    const Phrase& phrase = phraseAt(s.at);
    last = first + (last - first) * (right ? phrase.rightLength : phrase.leftLength);
    if (style_.pedal && !right && chance(0.5)) last = first + length * (0.3 + 0.6 * unit(random_));
    const double parting =
        std::min(milliseconds(right ? "R hand, first key up to last key up" : "L hand, first key up to last key up"),
                 length * 0.4);
    std::vector<std::size_t> order(n);
    for (std::size_t i = 0; i < n; ++i) order[i] = right ? n - 1 - i : i;  // the tune's note leads (Goebl 2001)
    if (!roll && !(right && chance(0.7)))
      for (std::size_t i = n; i > 1; --i)
        std::swap(order[i - 1], order[static_cast<std::size_t>(random_.between(0, static_cast<std::int64_t>(i) - 1))]);
    double latest = first;
    std::size_t struck = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const double on = n == 1 ? first : first + spread * static_cast<double>(order[i]) / static_cast<double>(n - 1);
      const double off = std::max(on + 0.03, last - (i == 0 ? 0 : parting * unit(random_)));
      if (!right && heldOver(s.keys[i], on, off)) {
        ++struck;
        continue;
      }
      if (style_.slips > 0 && chance(style_.slips / 2) && n > 2 && s.keys[i] % 12 == (s.keys[0] + 7) % 12)
        continue;  // dropped
      add({on, off, s.keys[i], velocity(hand, i + 1 == n, s.at), hand});
      latest = std::max(latest, on);
      ++struck;
    }
    if (!right) {
      if (!out_.chords.empty()) out_.chords.back().to = std::min(out_.chords.back().to, first);
      if (s.chordTruth && out_.group != Group::free && n > 2 && struck == n)
        if (const Chord* c = chordAt(s.at))
          out_.chords.push_back({latest, std::max(latest, time_.at(s.at + s.length)), *c});
    }
  }

  /// A common tone is kept down instead of struck again.
  bool heldOver(int key, double on, double off) {
    if (!chance(style_.heldOver)) return false;
    for (auto it = out_.notes.rbegin(); it != out_.notes.rend() && it - out_.notes.rbegin() < 12; ++it)
      if (it->key == key && it->hand == Hand::chord && it->off > on - 0.35 && it->on < on - 0.2) {
        it->off = off;
        return true;
      }
    return false;
  }

  void add(const PlayedNote& note) { out_.notes.push_back(note); }

  void pedal() {
    for (std::size_t i = 0; i < left_.size(); ++i) {
      if (i > 0 && left_[i].at - left_[i - 1].at < tune_.bar / 2 - 0.01) continue;
      const double at = time_.at(left_[i].at);
      if (i > 0 && chance(0.15)) continue;  // it stays down over the change
      if (i > 0) out_.pedal.push_back({at + 0.02, false});
      out_.pedal.push_back({at + 0.1 + 0.1 * unit(random_), true});
    }
    out_.pedal.push_back({time_.at(tune_.length) + 0.2, false});
  }

  /// A neighbour of a wanted key: just before it and let go, or brushed along with it (REFERENCES section 6).
  void slip() {
    if (style_.slips <= 0) return;
    const auto count = out_.notes.size();
    for (std::size_t i = 0; i < count; ++i) {
      if (!chance(style_.slips)) continue;
      PlayedNote wrong = out_.notes[i];
      wrong.key += random_.oneIn(2) ? 1 : -1;
      if (random_.oneIn(3)) wrong.key += wrong.key > out_.notes[i].key ? 1 : -1;
      wrong.on = std::max(0.02, wrong.on + 0.06 * (unit(random_) - 0.7));
      wrong.off = wrong.on + 0.028 + 0.1 * unit(random_);
      if (random_.oneIn(4)) wrong.off += 0.3 * unit(random_);
      wrong.velocity = std::max(1, wrong.velocity - static_cast<int>(random_.between(0, 30)));
      add(wrong);
    }
  }

  /// In order; a key that is still down rises 20 ms before it is struck again.
  void finish() {
    auto& notes = out_.notes;
    std::stable_sort(notes.begin(), notes.end(), [&](const PlayedNote& a, const PlayedNote& b) {
      if (a.on != b.on) return a.on < b.on;
      return style_.leftFirst ? a.hand > b.hand : a.hand < b.hand;
    });
    for (std::size_t i = 0; i < notes.size(); ++i)
      for (std::size_t j = i + 1; j < notes.size() && notes[j].on < notes[i].off + 0.02; ++j)
        if (notes[j].key == notes[i].key) notes[i].off = std::max(notes[i].on + 0.005, notes[j].on - 0.02);
    std::erase_if(notes, [](const PlayedNote& n) { return n.off <= n.on + 0.006 || n.key < 21 || n.key > 108; });
    for (const auto& n : notes) out_.end = std::max(out_.end, n.off);
    out_.end += 1;
  }

  Tune tune_;
  Style style_;
  const Touch& touch_;
  Random& random_;
  TimeMap time_;
  std::vector<Phrase> phrases_;
  std::vector<Stroke> left_, right_;
  double leadPlace_ = -1, lead_ = 0;
  TwoHands out_;
};

int lowestKey(const Tune& tune) {
  int low = 127;
  for (const auto& n : tune.melody) low = std::min(low, n.key);
  return low;
}

}  // namespace

TwoHands playTwoHands(const Tune& tune, Group group, const Style& style, const Touch& touch, Random& random) {
  return Player(tune, group, style, touch, random).play();
}

TwoHands performanceOf(Group group, Half half, std::uint64_t seed) {
  return performanceOf(group, half, seed, half == Half::learn);
}

TwoHands performanceOf(Group group, Half half, std::uint64_t seed, bool wilder) {
  static const auto learn = realTunes(Half::learn), report = realTunes(Half::report);
  static const Touch touch;
  Random random(seed * 2 + (half == Half::learn ? 0 : 1));
  const bool invented = wilder && random.oneIn(2);
  const Tune& real = random.oneOf(half == Half::learn ? learn : report);
  const Tune tune = invented ? inventedTune(random) : real;
  const Style style = styleOf(group, random, wilder);
  return playTwoHands(transposed(tune, style.tuneLow - lowestKey(tune)), group, style, touch, random);
}

}  // namespace seguente::test
