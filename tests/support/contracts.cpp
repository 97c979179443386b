#include "tests/support/contracts.h"

#include <map>
#include <set>

namespace seguente::test {

namespace {

std::string where(const Event& e) {
  return keyName(e.note()) + " on channel " + std::to_string(e.channel() + 1) + " at sample " +
         std::to_string(e.sample.value) + " (note " + std::to_string(e.noteId) + ")";
}

using Key = std::pair<int, int>;  // channel, key

}  // namespace

std::string hangingNotes(const Rendering& r) {
  std::map<std::uint32_t, Event> open;
  std::set<std::uint32_t> used;
  std::set<Key> keysDown;
  for (const auto& e : r.events) {
    const Key key{e.channel(), e.note().value};
    if (e.noteId == 0) continue;  // the tune's
    if (e.kind == OutputKind::noteOn) {
      if (e.bytes[2] == 0) return "struck with velocity 0: " + where(e);
      if (!used.insert(e.noteId).second) return "a second note-on of " + where(e);
      if (!keysDown.insert(key).second) return "struck while ours still sounds there: " + where(e);
      open[e.noteId] = e;
    } else if (e.kind == OutputKind::noteOff && e.noteId != 0) {
      const auto found = open.find(e.noteId);
      if (found == open.end()) return "a note-off without its note-on: " + where(e);
      if (found->second.note() != e.note() || found->second.channel() != e.channel())
        return "ended on another key: " + where(e);
      open.erase(found);
      keysDown.erase(key);
    }
  }
  return open.empty() ? "" : "never ended: " + where(open.begin()->second);
}

namespace {

/// The hand's notes by the rule as NAMES.md states it: below the split, or on the chord hand's channels.
class Judge {
 public:
  explicit Judge(const Settings& settings) : s_(settings) {}
  bool takes(const MidiMessage& m) {
    const Key key{m.channel(), m.bytes[1]};
    if (m.noteOn()) {
      if (chordHand(m)) {
        taken_.insert(key);
        return true;
      }
      return false;
    }
    return m.noteOff() && taken_.erase(key) > 0;
  }

 private:
  bool chordHand(const MidiMessage& m) const {
    const bool read = (s_.chordChannels >> m.channel()) & 1;
    if (s_.handRule == HandRule::byKey) return read && m.bytes[1] < s_.split.value;
    return read;
  }
  const Settings& s_;
  std::set<Key> taken_;
};

}  // namespace

std::string passedWrongly(const Rendering& r, const std::vector<Input>& inputs, const Settings& settings) {
  Judge judge(settings);
  std::size_t next = 0;
  std::vector<Event> passed;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::passed) passed.push_back(e);
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].kind != InputKind::midi || judge.takes(inputs[i].midi)) continue;
    if (next == passed.size()) return "input " + std::to_string(i) + " did not pass";
    const auto& e = passed[next++];
    if (e.inputIndex != i)
      return "input " + std::to_string(e.inputIndex) + " passed where " + std::to_string(i) + " was due";
    if (e.sample != inputs[i].sample)
      return "input " + std::to_string(i) + " passed at " + std::to_string(e.sample.value) + ", not at " +
             std::to_string(inputs[i].sample.value);
  }
  return next == passed.size() ? "" : "something passed twice, or out of the chord hand";
}

std::string clashes(const Rendering& r, const std::vector<Input>& inputs) {
  std::set<Key> tune, ours;
  for (const auto& e : r.events) {
    if (e.kind == OutputKind::passed) {
      const auto& m = inputs[e.inputIndex].midi;
      const Key key{m.channel(), m.bytes[1]};
      if (m.noteOff()) tune.erase(key);
      if (!m.noteOn()) continue;
      tune.insert(key);
      if (ours.count(key) > 0)
        return "the tune strikes " + keyName({m.bytes[1]}) + " at sample " + std::to_string(e.sample.value) +
               " while ours sounds there";
    } else if (e.kind == OutputKind::noteOn && e.noteId == 0) {  // the tune's, sent late
      tune.insert({e.channel(), e.note().value});
      if (ours.count({e.channel(), e.note().value}) > 0) return "the tune is given a key on which ours sounds";
    } else if (e.kind == OutputKind::noteOn) {
      const Key key{e.channel(), e.note().value};
      if (tune.count(key) > 0) return "struck though the tune holds it: " + where(e);
      ours.insert(key);
    } else if (e.kind == OutputKind::noteOff) {
      ours.erase({e.channel(), e.note().value});
      if (e.noteId == 0) tune.erase({e.channel(), e.note().value});
    }
  }
  return "";
}

std::string disorder(const Rendering& r) {
  const auto rank = [](const Event& e) {
    return e.kind == OutputKind::noteOn ? 2 : e.kind == OutputKind::passed ? 1 : 0;
  };
  for (std::size_t i = 1; i < r.events.size(); ++i) {
    const auto& a = r.events[i - 1];
    const auto& b = r.events[i];
    if (b.sample < a.sample) return "time runs backwards at sample " + std::to_string(b.sample.value);
    if (a.sample == b.sample && a.kind == OutputKind::noteOn && rank(b) < 2)
      return "a note-on of ours came before something else of that moment: " + where(a);
  }
  return "";
}

std::string lateWithoutCause(const Rendering& r) {
  for (const auto& e : r.events) {
    if (e.kind != OutputKind::noteOn || e.noteId == 0 || e.reason.reason == Reason::asHeld) continue;
    if (e.sample < e.reason.due) return "before its step: " + where(e);
    if (e.sample > e.reason.due && e.reason.cause == DelayCause::none)
      return std::to_string((e.sample - e.reason.due).value) + " samples late without a cause: " + where(e);
  }
  return "";
}

std::string openTune(const Rendering& r, const std::vector<Input>& inputs) {
  std::set<Key> open;
  for (const auto& e : r.events) {
    if (e.kind == OutputKind::passed) {
      const auto& m = inputs[e.inputIndex].midi;
      if (m.noteOn()) open.insert({m.channel(), m.bytes[1]});
      if (m.noteOff()) open.erase({m.channel(), m.bytes[1]});
    } else if (e.kind == OutputKind::noteOff && e.noteId == 0) {
      open.erase({e.channel(), e.note().value});
    } else if (e.kind == OutputKind::noteOn && e.noteId == 0) {
      open.insert({e.channel(), e.note().value});
    }
  }
  if (open.empty()) return "";
  return "the tune's " + keyName({static_cast<std::uint8_t>(open.begin()->second)}) + " stays open";
}

namespace {

/// Which of the tune's keys sound, as events come out.
struct TuneSounds {
  std::set<Key> open;
  void hear(const Event& e, const std::vector<Input>& inputs) {
    const Key key{e.channel(), e.note().value};
    if (e.kind == OutputKind::passed) {
      const auto& m = inputs[e.inputIndex].midi;
      if (m.noteOn()) open.insert({m.channel(), m.bytes[1]});
      if (m.noteOff()) open.erase({m.channel(), m.bytes[1]});
    } else if (e.noteId == 0 && e.kind == OutputKind::noteOn) {
      open.insert(key);
    } else if (e.noteId == 0 && e.kind == OutputKind::noteOff) {
      open.erase(key);
    }
  }
};

}  // namespace

std::string tuneOutlivesItsKeys(const Rendering& r, const std::vector<Input>& inputs) {
  TuneSounds sounds;
  std::size_t next = 0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].kind != InputKind::midi || !inputs[i].midi.noteOff()) continue;
    const auto& m = inputs[i].midi;
    for (; next < r.events.size() && r.events[next].sample <= inputs[i].sample; ++next)
      sounds.hear(r.events[next], inputs);
    bool struckAgain = false;
    for (std::size_t j = i + 1; j < inputs.size() && inputs[j].sample == inputs[i].sample; ++j)
      struckAgain = struckAgain || (inputs[j].midi.noteOn() && inputs[j].midi.bytes[1] == m.bytes[1]);
    if (!struckAgain && sounds.open.count({m.channel(), m.bytes[1]}) > 0)
      return "the tune's " + keyName({m.bytes[1]}) + " sounds on though its key went up at sample " +
             std::to_string(inputs[i].sample.value);
  }
  return "";
}

std::string againstItsVerdict(const Rendering& r, const std::vector<Input>& inputs) {
  std::map<std::uint32_t, Verdict> verdicts;
  for (const auto& heard : r.facts)
    if (heard.fact.kind == FactKind::hand && heard.fact.revision == 0)
      verdicts[heard.fact.inputIndex] = heard.fact.verdict;
  std::set<std::uint32_t> went;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::passed) {
      if (e.sample != inputs[e.inputIndex].sample) return "input " + std::to_string(e.inputIndex) + " passed late";
      if (!went.insert(e.inputIndex).second) return "input " + std::to_string(e.inputIndex) + " passed twice";
    }
  for (std::uint32_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].kind != InputKind::midi || inputs[i].midi.noteOff()) continue;
    const auto found = verdicts.find(i);
    const bool passes = found == verdicts.end() || found->second != Verdict::take;
    if (passes != (went.count(i) > 0)) return "input " + std::to_string(i) + " went against its verdict";
  }
  return "";
}

std::string unexplained(const Rendering& r) {
  std::map<std::pair<std::uint32_t, std::uint16_t>, Samples> told;
  for (const auto& heard : r.facts)
    if (heard.fact.kind == FactKind::chord)
      told.emplace(std::pair(heard.fact.id, heard.fact.revision), heard.fact.sample);
  for (const auto& e : r.events) {
    if (e.kind != OutputKind::noteOn || e.noteId == 0 || e.reason.reason == Reason::asHeld) continue;
    const auto found = told.find({e.reason.chordId, e.reason.chordRevision});
    if (found == told.end() || found->second > e.sample) return "its chord was never told: " + where(e);
    if (e.reason.noteId != e.noteId) return "its reason is another note's: " + where(e);
  }
  return "";
}

std::string unfitForAudio(const Rendering& r) {
  if (r.overflowed) return "more came out than the harness has room for";
  return r.violations == 0 ? "" : std::to_string(r.violations) + " allocations or locks on the audio thread";
}

std::string brokenContract(const Rendering& r, const std::vector<Input>& inputs) {
  for (const auto& text : {hangingNotes(r), clashes(r, inputs), disorder(r), lateWithoutCause(r), openTune(r, inputs),
                           unexplained(r), unfitForAudio(r)})
    if (!text.empty()) return text;
  return "";
}

}  // namespace seguente::test
