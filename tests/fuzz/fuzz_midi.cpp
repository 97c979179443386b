// Rubbish for the MIDI reader, its writer, the map of time and the engine behind them. Corpus: tests/fuzz/corpus/midi.
// Written is what was read: a second reading gives the same bytes. Nothing may hang on in the engine.
#include <cstdint>
#include <cstdlib>
#include <map>
#include <vector>

#include "dsp/engine.h"
#include "plugin/commandline/midi_file.h"
#include "plugin/commandline/tempo_map.h"

namespace {

using namespace seguente;

void require(bool condition) {
  if (!condition) std::abort();
}

/// Every note-on of ours has its note-off.
void hear(const MidiFile& file, const TempoMap& time) {
  std::vector<Input> inputs{Input::of({}, time.points().front().anchor), Input::of({}, Settings{})};
  Samples last{};
  for (const MidiTrack& track : file.tracks)
    for (const MidiEvent& e : track.events) {
      const auto bytes = file.bytesOf(e);
      if (bytes[0] == 0xFF || inputs.size() > 20000) continue;
      MidiMessage m;
      for (std::size_t i = 0; i < 3 && i < bytes.size(); ++i) m.bytes[i] = bytes[i];
      m.length = static_cast<std::uint32_t>(bytes.size());
      last = std::max(last, time.sampleOf(e.tick));  // tracks one after another: times that do not fall
      inputs.push_back(Input::of(last, m));
    }
  std::map<std::uint32_t, int> open;
  const Sink sink{&open,
                  [](void* context, const Output& o) {
                    auto& notes = *static_cast<std::map<std::uint32_t, int>*>(context);
                    if (o.noteId == 0) return;
                    if (o.kind == OutputKind::noteOn) require(++notes[o.noteId] == 1);
                    if (o.kind == OutputKind::noteOff) require(--notes[o.noteId] == 0);
                  },
                  nullptr};
  Engine engine;
  engine.prepare(48000);
  engine.process(inputs, last + Samples{1}, sink);
  engine.silence(sink);
  for (const auto& [id, count] : open) require(count == 0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto file = parseMidi({data, size});
  if (!file.good()) {
    require(file.fault.find('\n') == std::string::npos);
    return 0;
  }
  const auto written = serializeMidi(file.value);
  const auto again = parseMidi(written);
  require(again.good());
  require(serializeMidi(again.value) == written);
  const auto time = TempoMap::of(file.value, {}, 48000);
  if (!time.good()) return 0;
  for (const MidiTrack& track : file.value.tracks)
    for (const MidiEvent& e : track.events) {
      require(time.value.fileTick(time.value.engineTick(e.tick)) == e.tick);
      require(time.value.sampleOf(e.tick).value >= 0);
    }
  hear(file.value, time.value);
  return 0;
}
