#include "tests/support/score.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <stdexcept>

#include "dsp/idiom_file.h"

namespace seguente::test {

NoteNumber key(std::string_view name) {
  constexpr int natural[7] = {9, 11, 0, 2, 4, 5, 7};  // A B C D E F G
  if (name.size() < 2 || name[0] < 'A' || name[0] > 'G') throw std::runtime_error("no key: " + std::string(name));
  int semitone = natural[name[0] - 'A'];
  std::size_t at = 1;
  for (; at < name.size() && (name[at] == '#' || name[at] == 'b'); ++at) semitone += name[at] == '#' ? 1 : -1;
  const int octave = std::stoi(std::string(name.substr(at)));
  return {static_cast<std::uint8_t>(12 * (octave + 1) + semitone)};
}

std::vector<NoteNumber> keys(std::string_view names) {
  std::vector<NoteNumber> found;
  for (std::size_t from = 0; from < names.size();) {
    const auto end = std::min(names.find(' ', from), names.size());
    if (end > from) found.push_back(key(names.substr(from, end - from)));
    from = end + 1;
  }
  return found;
}

std::string keyName(NoteNumber note) {
  constexpr const char* names[12] = {"C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"};
  return names[note.value % 12] + std::to_string(note.value / 12 - 1);
}

namespace {

IdiomLibrary& library() {
  static IdiomLibrary installed({SEGUENTE_PATTERNS});
  return installed;
}

Input noteInput(Samples at, int status, int channel, NoteNumber note, int velocity) {
  MidiMessage m;
  m.bytes = {static_cast<std::uint8_t>(status | channel), note.value, static_cast<std::uint8_t>(velocity)};
  m.length = 3;
  return Input::of(at, m);
}

}  // namespace

const Idiom& idiom(std::string_view id) {
  std::vector<Fault> faults;
  const auto* found = library().find(id, faults);
  std::string text;
  for (const auto& fault : faults) text += fault.text() + "\n";
  if (found == nullptr) throw std::runtime_error("no idiom " + std::string(id) + "\n" + text);
  return *found;
}

std::vector<std::string> idiomIds() {
  std::vector<std::string> ids;
  for (const auto& entry : library().entries()) ids.push_back(entry.id);
  return ids;
}

Score::Score(double rate, Meter meter, double quartersPerMinute, Ticks barStart) : rate_(rate) {
  TimeAnchor first;
  first.quartersPerMinute = quartersPerMinute;
  first.meter = meter;
  first.barStart = barStart;
  stretches_.push_back({{}, {}, quartersPerMinute, meter, barStart, true, 0});
  add({}, Input::of(Samples{}, first));
}

Score& Score::add(Samples at, Input input) {
  input.sample = at;
  inputs_.push_back(input);
  return *this;
}

Samples Score::sampleOf(Ticks tick) const {
  const Stretch* in = &stretches_.front();
  for (const auto& s : stretches_)
    if (s.playing && s.tick <= tick) in = &s;
  const auto perTick = static_cast<long double>(rate_) * 60 /
                       (static_cast<long double>(in->quartersPerMinute) * static_cast<long double>(quarter.value));
  return {in->sample.value +
          static_cast<std::int64_t>(std::floor(static_cast<long double>((tick - in->tick).value) * perTick + 0.5L))};
}

Ticks Score::tickAt(Samples sample) const {
  const Stretch* in = &stretches_.front();
  for (const auto& s : stretches_)
    if (s.sample <= sample) in = &s;
  if (!in->playing) return in->tick;
  const auto perTick = rate_ * 60 / (in->quartersPerMinute * static_cast<double>(quarter.value));
  return {in->tick.value + std::llround(static_cast<double>((sample - in->sample).value) / perTick)};
}

Score& Score::with(const Idiom& idiom, Ticks at) {
  return add(sampleOf(at), Input::of(sampleOf(at), IdiomRef{&idiom, ++generation_}));
}
Score& Score::with(const Settings& settings, Ticks at) { return add(sampleOf(at), Input::of(sampleOf(at), settings)); }
Score& Score::with(ChartRef chart, Ticks at) { return add(sampleOf(at), Input::of(sampleOf(at), chart)); }
Score& Score::signal(Gesture gesture, Ticks at) { return add(sampleOf(at), Input::of(sampleOf(at), gesture)); }
Score& Score::silenceAt(Ticks at) { return add(sampleOf(at), Input::silenceAt(sampleOf(at))); }

Score& Score::chord(std::string_view names, Ticks from, Ticks to, int velocity, int channel) {
  for (const auto note : keys(names)) {
    add(sampleOf(from), noteInput({}, 0x90, channel, note, velocity));
    add(sampleOf(to), noteInput({}, 0x80, channel, note, 64));
  }
  return *this;
}
Score& Score::tune(std::string_view names, Ticks from, Ticks to, int velocity, int channel) {
  return chord(names, from, to, velocity, channel);
}

Score& Score::message(std::vector<std::uint8_t> bytes, Samples at) {
  MidiMessage m;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, bytes.size()); ++i) m.bytes[i] = bytes[i];
  m.length = static_cast<std::uint32_t>(bytes.size());
  return add(at, Input::of(at, m));
}
Score& Score::message(std::vector<std::uint8_t> bytes, Ticks at) { return message(std::move(bytes), sampleOf(at)); }

Stretch& Score::next(Samples at, Ticks tick) {
  auto s = stretches_.back();
  s.sample = at;
  s.tick = tick;
  stretches_.push_back(s);
  return stretches_.back();
}

namespace {

TimeAnchor anchorOf(const Stretch& s) { return {s.tick, s.quartersPerMinute, s.meter, s.barStart, s.playing}; }

}  // namespace

Score& Score::tempoFrom(Samples at, double quartersPerMinute) {
  auto& s = next(at, tickAt(at));
  s.quartersPerMinute = quartersPerMinute;
  return add(at, Input::of(at, anchorOf(s)));
}
Score& Score::meterFrom(Samples at, Meter meter) {
  auto& s = next(at, tickAt(at));
  s.barsBefore += floorDivide((s.tick - s.barStart).value, s.meter.bar().value);
  s.meter = meter;
  s.barStart = s.tick;
  return add(at, Input::of(at, anchorOf(s)));
}
Score& Score::stop(Ticks at) {
  const auto sample = sampleOf(at);
  auto& s = next(sample, at);
  s.playing = false;
  return add(sample, Input::of(sample, anchorOf(s)));
}
Score& Score::jump(Samples at, Ticks tick, bool playing) {
  auto& s = next(at, tick);
  s.playing = playing;
  return add(at, Input::of(at, anchorOf(s)));
}
Score& Score::anchor(Samples at, const TimeAnchor& anchor) { return add(at, Input::of(at, anchor)); }

std::vector<Input> Score::inputs() const {
  auto sorted = inputs_;
  std::stable_sort(sorted.begin(), sorted.end(), [](const Input& a, const Input& b) { return a.sample < b.sample; });
  return sorted;
}

}  // namespace seguente::test
