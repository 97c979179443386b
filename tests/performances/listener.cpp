#include "tests/performances/listener.h"

#include <algorithm>
#include <cmath>

#include "dsp/hand_context.h"

namespace seguente::test {

namespace {

constexpr double rate = 48000;
constexpr Samples window{2400};  // 50 ms, as the engine's default
constexpr Samples bridge{24000};

struct Happening {
  Samples at{};
  int order = 0;  // at one sample: note-offs, pedal, note-ons
  std::size_t index = 0;
};

Samples sampleOf(double seconds) { return {static_cast<std::int64_t>(seconds * rate)}; }
Tenths tenthsOf(Samples s) { return {s.value * 10000 / static_cast<std::int64_t>(rate)}; }

std::vector<Happening> happenings(const TwoHands& p) {
  std::vector<Happening> out;
  for (std::size_t i = 0; i < p.notes.size(); ++i) {
    out.push_back({sampleOf(p.notes[i].on), 2, i});
    out.push_back({std::max(sampleOf(p.notes[i].off), sampleOf(p.notes[i].on) + Samples{1}), 0, i});
  }
  for (std::size_t i = 0; i < p.pedal.size(); ++i) out.push_back({sampleOf(p.pedal[i].at), 1, i});
  std::stable_sort(out.begin(), out.end(), [](const Happening& a, const Happening& b) {
    return a.at != b.at ? a.at < b.at : a.order < b.order;
  });
  return out;
}

class Listener {
 public:
  Listener(const TwoHands& p, HandOpinion opinion, const HandBounds& bounds, ClockKind clock, bool chart)
      : p_(p), judge_(opinion), out_(p.notes.size()) {
    judge_.bounds = bounds;
    clock_.reset(rate);
    TimeAnchor anchor;
    anchor.meter = p.meter;
    anchor.quartersPerMinute = p.quartersPerMinute * (clock == ClockKind::wrong ? 1.23 : 1);
    anchor.playing = clock != ClockKind::none;
    const Ticks start{
        static_cast<std::int64_t>(-0.3 * anchor.quartersPerMinute / 60 * static_cast<double>(quarter.value))};
    anchor.tick = start;
    anchor.barStart = {std::llround(p.pickup * static_cast<double>(quarter.value))};
    clock_.anchor(anchor, Samples{});
    if (!chart) return;
    for (const auto& c : p.chords) {
      const Ticks from = clock_.tickAt(sampleOf(c.from - 0.03)), to = clock_.tickAt(sampleOf(c.to));
      if (from < to && (chart_.empty() || chart_.back().to <= from)) chart_.push_back({from, to, c.chord});
    }
    foresight_.setChart({chart_.data(), chart_.size()});
  }

  std::vector<JudgedNote> run() {
    const auto all = happenings(p_);
    for (std::size_t i = 0; i < all.size();) {
      const Samples due = std::min(judge_.nextEnd(), gather_.deadline());
      const Samples at = std::min(all[i].at, due);
      now_ = at;
      bool struck = false;
      for (; i < all.size() && all[i].at <= at; ++i) struck = happen(all[i]) || struck;
      if (struck) judgeThem();
      if (struck || judge_.nextEnd() <= at) again();
      settle();
    }
    now_ = now_ + window + Samples{1};
    again();
    return std::move(out_);
  }

 private:
  HandContext context() const {
    return handContext(readings_.count > 0 ? &readings_.best() : nullptr, keyFinder_.key(), foresight_, clock_, now_);
  }
  bool happen(const Happening& h) {
    if (h.order == 1) {
      pedal_ = p_.pedal[h.index].down;
      return false;
    }
    const auto& n = p_.notes[h.index];
    const auto key = static_cast<std::uint8_t>(n.key);
    if (h.order == 0) {
      judge_.up(0, key, tenthsOf(now_));
      gather_.keyUp({key}, now_, bridge);
      return false;
    }
    HeardNote note;
    note.on = tenthsOf(now_);
    note.at = now_;
    note.id = static_cast<std::uint32_t>(h.index);
    note.key = key;
    note.velocity = static_cast<std::uint8_t>(n.velocity);
    judge_.arrive(note);
    arrived_.push_back(h.index);
    return true;
  }
  void judgeThem() {
    judge_.judgeArrivals(context(), pedal_ ? 0 : 0xFFFF, window);
    for (const auto index : arrived_) {
      const auto* note = judge_.newest(0, static_cast<std::uint8_t>(p_.notes[index].key));
      if (note == nullptr) continue;
      auto& j = out_[index];
      j.verdict = j.finally = note->verdict;
      j.first = j.last = note->hand;
      j.odds = j.lastOdds = note->right;
      if (note->verdict == Verdict::take) gather_.keyDown({note->key}, {note->velocity}, now_, window);
    }
    arrived_.clear();
  }
  void again() {
    for (const auto& r : judge_.lookAgain(now_, tenthsOf(now_), context())) {
      auto& j = out_[r.note.id];
      j.finally = r.note.verdict;
      j.lastOdds = r.note.right;
      j.last = r.note.verdict == Verdict::take && !r.leftChord ? Hand::chord : Hand::melody;
      if (r.leftChord) gather_.takeBack({r.note.key}, now_, bridge);
      if (!r.changed) continue;
      if (r.note.verdict == Verdict::take) {
        gather_.keyDown({r.note.key}, {r.note.velocity}, r.note.at, window);
        if (!r.note.down) gather_.keyUp({r.note.key}, now_, bridge);
      } else {
        gather_.takeBack({r.note.key}, now_, bridge);
      }
    }
  }
  void settle() {
    const auto event = gather_.settle(now_);
    if (event == GatherEvent::gone) readings_.count = 0;
    if (event != GatherEvent::struck && event != GatherEvent::refined) return;
    readings_ = nameChord(gather_.keys(), keyFinder_.key());
    if (readings_.count == 0 || event == GatherEvent::refined) return;
    keyFinder_.hearChord(readings_.best(), Ticks{2 * quarter.value});
    keyFinder_.update();
  }

  const TwoHands& p_;
  HandJudge judge_;
  Gather gather_;
  KeyFinder keyFinder_;
  Clock clock_;
  Foresight foresight_;
  std::vector<Expectation> chart_;
  Readings readings_{};
  std::vector<std::size_t> arrived_;
  std::vector<JudgedNote> out_;
  Samples now_{};
  bool pedal_ = false;
};

}  // namespace

std::vector<JudgedNote> listen(const TwoHands& played, HandOpinion opinion, const HandBounds& bounds, ClockKind clock,
                               bool chart) {
  return Listener(played, opinion, bounds, clock, chart).run();
}

}  // namespace seguente::test
