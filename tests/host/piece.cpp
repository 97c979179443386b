#include "tests/host/piece.h"

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <set>
#include <sstream>
#include <stdexcept>

namespace seguente::host {

Piece::Piece(double rate, Meter meter, double quartersPerMinute, Ticks barStart)
    : score_(rate, meter, quartersPerMinute, barStart) {
  for (const auto& row : parameterTable()) values_[static_cast<std::size_t>(row.which)] = row.standard;
  choose("broken-bass");
}

void Piece::tellSettings(Samples at) {
  ParameterValues values;
  for (const auto& row : parameterTable()) values.set(row.which, values_[static_cast<std::size_t>(row.which)]);
  score_.add(at, Input::of(at, settingsFrom(values, idiom_, idiom_)));
}

Piece& Piece::set(ParameterId which, double plain, Samples at) {
  values_[static_cast<std::size_t>(which)] = allowed(parameter(which), plain);
  changes_.push_back({at.value, which, plain});
  tellSettings(at);
  return *this;
}

Piece& Piece::choose(std::string_view id, Samples at) {
  idiom_ = &test::idiom(id);
  const auto slot = slotOf(id);
  values_[static_cast<std::size_t>(ParameterId::idiom)] = slot;
  changes_.push_back({at.value, ParameterId::idiom, static_cast<double>(slot)});
  score_.add(at, Input::of(at, IdiomRef{idiom_, static_cast<std::uint32_t>(changes_.size())}));
  tellSettings(at);
  return *this;
}

std::vector<Input> Piece::inputs() const {
  auto inputs = score_.inputs();
  const auto rank = [](const Input& i) { return i.kind == InputKind::time ? 0 : i.kind == InputKind::midi ? 2 : 1; };
  std::stable_sort(inputs.begin(), inputs.end(), [&](const Input& a, const Input& b) {
    return a.sample != b.sample ? a.sample < b.sample : rank(a) < rank(b);
  });
  return inputs;
}

Place Piece::placeAt(std::int64_t sample) const {
  const auto& s = test::stretchAt(score_, Samples{sample});
  const auto ticksPerSample = static_cast<long double>(s.quartersPerMinute) * static_cast<long double>(quarter.value) /
                              (60 * static_cast<long double>(score_.rate()));
  const auto since = s.playing ? static_cast<long double>(sample - s.sample.value) * ticksPerSample : 0.0L;
  const auto tick = static_cast<long double>(s.tick.value) + since;
  const auto bars = floorDivide(static_cast<std::int64_t>(std::floor(tick)) - s.barStart.value, s.meter.bar().value);
  const auto perQuarter = static_cast<long double>(quarter.value);
  return {static_cast<double>(tick / perQuarter),
          s.quartersPerMinute,
          s.meter,
          static_cast<double>(static_cast<long double>(s.barStart.value + bars * s.meter.bar().value) / perQuarter),
          s.barsBefore + bars,
          s.playing};
}

std::vector<std::int64_t> Piece::cuts() const {
  std::set<std::int64_t> cuts;
  for (const auto& s : score_.stretches()) cuts.insert(s.sample.value);
  for (const auto& c : changes_) cuts.insert(c.sample);
  // VST3 carries controllers, pressure and bend as parameters, which have no place in the block with many hosts.
  for (const auto& i : score_.inputs())
    if (i.kind == InputKind::midi && (i.midi.kind() == 0xB0 || i.midi.kind() == 0xD0 || i.midi.kind() == 0xE0))
      cuts.insert(i.sample.value);
  return {cuts.begin(), cuts.end()};
}

int slotOf(std::string_view idiom) {
  std::ifstream file(SEGUENTE_PATTERNS "/slots.txt");
  for (std::string line; std::getline(file, line);) {
    std::istringstream words(line);
    int slot = 0;
    std::string id;
    if (words >> slot >> id && id == idiom) return slot;
  }
  throw std::runtime_error("no slot of " + std::string(idiom));
}

std::vector<Heard> byEngine(const std::vector<Input>& inputs, double rate, Samples end) {
  const auto rendering = test::renderInBlocks(inputs, {}, rate, end, false);
  std::vector<Heard> heard;
  for (const auto& e : rendering.events) {
    if (e.kind == OutputKind::passed) {
      const auto& m = inputs[e.inputIndex].midi;
      heard.push_back({e.sample.value, {m.bytes.begin(), m.bytes.begin() + std::min<std::size_t>(3, m.length)}});
    } else {
      heard.push_back({e.sample.value, {e.bytes.begin(), e.bytes.end()}});
    }
  }
  return heard;
}

std::vector<Heard> byEngine(const Piece& piece) { return byEngine(piece.inputs(), piece.score().rate(), piece.end()); }

std::string textOf(const Heard& heard) {
  std::string text;
  for (std::size_t i = 0; i < heard.bytes.size() && i < 8; ++i) {
    char two[4];
    std::snprintf(two, sizeof two, "%02X ", heard.bytes[i]);
    text += two;
  }
  return text + "at " + std::to_string(heard.sample);
}

std::string firstDifference(const std::vector<Heard>& expected, const std::vector<Heard>& came) {
  for (std::size_t i = 0; i < std::max(expected.size(), came.size()); ++i) {
    if (i < expected.size() && i < came.size() && expected[i] == came[i]) continue;
    std::string text = "event " + std::to_string(i) + " of " + std::to_string(expected.size()) + ": expected " +
                       (i < expected.size() ? textOf(expected[i]) : "nothing") + ", came " +
                       (i < came.size() ? textOf(came[i]) : "nothing") + "; before it:";
    for (std::size_t k = i < 4 ? 0 : i - 4; k < i; ++k) text += "  " + textOf(expected[k]);
    return text;
  }
  return "";
}

namespace {

bool isNoteOn(const Heard& h) { return h.bytes.size() == 3 && (h.bytes[0] & 0xF0) == 0x90 && h.bytes[2] > 0; }
bool isNoteOff(const Heard& h) {
  const int kind = h.bytes.size() == 3 ? h.bytes[0] & 0xF0 : 0;
  return kind == 0x80 || (kind == 0x90 && h.bytes[2] == 0);
}

}  // namespace

std::vector<Heard> noteOns(const std::vector<Heard>& heard) {
  std::vector<Heard> ons;
  std::copy_if(heard.begin(), heard.end(), std::back_inserter(ons), isNoteOn);
  return ons;
}

std::string stillSounding(const std::vector<Heard>& heard) {
  std::set<std::pair<int, int>> down;
  for (const auto& h : heard) {
    if (isNoteOn(h)) down.insert({h.bytes[0] & 0x0F, h.bytes[1]});
    if (isNoteOff(h)) down.erase({h.bytes[0] & 0x0F, h.bytes[1]});
    // All sound off and all notes off, whatever channel mode messages mean to a synthesiser (MIDI 1.0).
    if (h.bytes.size() == 3 && (h.bytes[0] & 0xF0) == 0xB0 && (h.bytes[1] == 120 || h.bytes[1] == 123))
      std::erase_if(down, [&](const auto& key) { return key.first == (h.bytes[0] & 0x0F); });
  }
  std::string text;
  for (const auto& [channel, key] : down)
    if (text.size() < 100)
      text += test::keyName({static_cast<std::uint8_t>(key)}) + " on channel " + std::to_string(channel + 1) + "  ";
  return text;
}

}  // namespace seguente::host
