#include "tests/support/music.h"

#include <algorithm>
#include <cstdio>
#include <map>
#include <set>

namespace seguente::test {

std::string fractionText(Ticks amount, Ticks unit) {
  const auto whole = floorDivide(amount.value, unit.value);
  const auto rest = amount.value - whole * unit.value;
  if (rest == 0) return std::to_string(whole);
  for (const std::int64_t denominator : {2, 3, 4, 6, 8, 12, 16})
    if (rest * denominator % unit.value == 0)
      return std::to_string(whole) + " " + std::to_string(rest * denominator / unit.value) + "/" +
             std::to_string(denominator);
  char text[32];
  std::snprintf(text, sizeof text, "%.3f", static_cast<double>(amount.value) / static_cast<double>(unit.value));
  return text;
}

std::string quartersText(Ticks amount) {
  for (const std::int64_t denominator : {1, 2, 3, 4, 6, 8, 12, 16})
    if (amount.value * denominator % quarter.value == 0)
      return std::to_string(amount.value * denominator / quarter.value) +
             (denominator == 1 ? "" : "/" + std::to_string(denominator));
  char text[32];
  std::snprintf(text, sizeof text, "%.3f", static_cast<double>(amount.value) / static_cast<double>(quarter.value));
  return text;
}

std::string place(Ticks tick, const Stretch& stretch) {
  const auto bar = floorDivide((tick - stretch.barStart).value, stretch.meter.bar().value);
  const auto inBar = tick - stretch.barStart - stretch.meter.bar() * bar;
  return "bar " + std::to_string(stretch.barsBefore + bar + 1) + ", beat " +
         fractionText(inBar + stretch.meter.beat(), stretch.meter.beat());
}

const Stretch& stretchAt(const Score& score, Samples sample) {
  const Stretch* in = &score.stretches().front();
  for (const auto& s : score.stretches())
    if (s.sample <= sample) in = &s;
  return *in;
}

namespace {

std::string words(const Event& e) {
  const std::string id = " (note " + std::to_string(e.noteId) + ", sample " + std::to_string(e.sample.value) + ")";
  switch (e.kind) {
    case OutputKind::passed:
      return "input " + std::to_string(e.inputIndex) + " passed on (sample " + std::to_string(e.sample.value) + ")";
    case OutputKind::noteOn:
      return "part " + std::to_string(e.reason.part) + " " + keyName(e.note()) + id;
    case OutputKind::noteOff:
      return "end of " + keyName(e.note()) + id;
    case OutputKind::controller:
      break;
  }
  return "controller " + std::to_string(e.bytes[1]) + " = " + std::to_string(e.bytes[2]);
}

std::string at(const Event& e, const Score& score) {
  const auto& stretch = stretchAt(score, e.sample);
  const auto perTick = score.rate() * 60 / (stretch.quartersPerMinute * static_cast<double>(quarter.value));
  const Ticks offset{std::llround(static_cast<double>((e.sample - stretch.sample).value) / perTick)};
  return place(e.kind == OutputKind::noteOn ? e.tick : stretch.tick + offset, stretch) + ": ";
}

std::string firstFactDifference(const Rendering& expected, const Rendering& came) {
  for (std::size_t i = 0; i < std::max(expected.facts.size(), came.facts.size()); ++i) {
    const bool both = i < expected.facts.size() && i < came.facts.size();
    if (both && expected.facts[i] == came.facts[i]) continue;
    const auto& fact = i < expected.facts.size() ? expected.facts[i].fact : came.facts[i].fact;
    return "fact " + std::to_string(i) + " of kind " + std::to_string(static_cast<int>(fact.kind)) + " at sample " +
           std::to_string(fact.sample.value) + (both ? " differs" : " is in one run only");
  }
  return "";
}

}  // namespace

std::string firstDifference(const Rendering& expected, const Rendering& came, const Score& score) {
  const auto most = std::max(expected.events.size(), came.events.size());
  for (std::size_t i = 0; i < most; ++i) {
    const bool wanted = i < expected.events.size();
    const bool got = i < came.events.size();
    if (wanted && got && expected.events[i] == came.events[i]) continue;
    if (!wanted) return at(came.events[i], score) + "nothing expected, " + words(came.events[i]) + " came";
    const auto& e = expected.events[i];
    if (!got) return at(e, score) + words(e) + " expected, nothing came";
    return at(e, score) + words(e) + " expected, " + words(came.events[i]) + " came, " + at(came.events[i], score);
  }
  return firstFactDifference(expected, came);
}

std::vector<Event> strikes(const Rendering& r) {
  std::vector<Event> out;
  for (const auto& e : r.events)
    if (e.kind == OutputKind::noteOn) out.push_back(e);
  return out;
}

Samples endOf(const Rendering& r, std::uint32_t noteId) {
  for (const auto& e : r.events)
    if (e.kind == OutputKind::noteOff && e.noteId == noteId) return e.sample;
  return never;
}

std::string attacks(const Rendering& r, Ticks from, Ticks to, Names names, int part) {
  std::map<std::int64_t, std::set<int>> byTick;
  for (const auto& e : strikes(r))
    if (e.tick >= from && e.tick < to && (part < 0 || e.reason.part == part))
      byTick[e.tick.value].insert(e.note().value);
  std::string out;
  for (const auto& [tick, struck] : byTick) {
    out += (out.empty() ? "" : " ") + quartersText(Ticks{tick} - from) + ":";
    std::string sep;
    for (const int k : struck) {
      auto name = keyName({static_cast<std::uint8_t>(k)});
      if (names == Names::pitchClasses) name.erase(name.find_first_of("-0123456789"));
      out += sep + name;
      sep = "+";
    }
  }
  return out;
}

namespace {

std::string why(const NoteReason& reason) {
  constexpr const char* figures[] = {"statement", "answer",       "lift",         "vamp",       "hold",      "cadence",
                                     "end",       "full cadence", "half cadence", "turnaround", "short form"};
  constexpr const char* reasons[] = {"", ", joined", ", corrected", ", as held", ", held on", ", closing"};
  constexpr const char* causes[] = {"", ", the hand was late", ", just started", ", jumped"};
  return std::string(figures[static_cast<std::size_t>(reason.figure)]) + ", row " + std::to_string(reason.row + 1) +
         reasons[static_cast<std::size_t>(reason.reason)] + causes[static_cast<std::size_t>(reason.cause)];
}

}  // namespace

std::string arrangement(const Rendering& r, const Score& score, const Idiom& idiom) {
  std::string out;
  for (const auto& e : strikes(r)) {
    const auto& stretch = stretchAt(score, e.sample);
    const auto perTick = score.rate() * 60 / (stretch.quartersPerMinute * static_cast<double>(quarter.value));
    const auto end = endOf(r, e.noteId);
    const auto length = static_cast<double>((end - e.sample).value) / perTick / static_cast<double>(quarter.value);
    char line[160];
    std::snprintf(line, sizeof line, "%-20s %-12s %-4s length %.2f  velocity %3d  %s\n", place(e.tick, stretch).c_str(),
                  idiom.parts[e.reason.part].name.c_str(), keyName(e.note()).c_str(), length, e.bytes[2],
                  why(e.reason).c_str());
    out += line;
  }
  return out;
}

}  // namespace seguente::test
