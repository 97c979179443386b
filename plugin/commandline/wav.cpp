#include "plugin/commandline/wav.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdio>
#include <memory>

#include "plugin/commandline/output_file.h"
#include "plugin/commandline/progress.h"
#include "plugin/sound/synthesiser.h"

namespace seguente {

namespace {

constexpr int framesAtOnce = 4096;
constexpr double tailSeconds = 3;     // the room's reverberation dies away
constexpr float highestPeak = 0.98F;  // a little under full scale; by common practice, no source

struct CloseFile {
  void operator()(std::FILE* f) const { std::fclose(f); }
};
using Scratch = std::unique_ptr<std::FILE, CloseFile>;

/// The greatest distance from zero. Floats without their sign are in order as whole numbers too, and a greatest whole
/// number, unlike a greatest float, is found four at a time.
float peakOf(const float* samples, std::size_t count) {
  std::int32_t greatest = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const std::int32_t bits = std::bit_cast<std::int32_t>(samples[i]) & 0x7FFFFFFF;
    greatest = bits > greatest ? bits : greatest;
  }
  return std::bit_cast<float>(greatest);
}

/// Everything as floats into the scratch file; returns the peak. Frames of silence at the start are kept.
std::string synthesise(Synthesiser& synth, const std::vector<SoundEvent>& events, std::int64_t frames,
                       std::FILE* scratch, float& peak) {
  std::vector<float> buffer(std::size_t{framesAtOnce} * 2);
  Progress progress("sounding");
  std::size_t next = 0;
  for (std::int64_t now = 0; now < frames;) {
    while (next < events.size() && events[next].sample.value <= now) {
      synth.send(events[next].bytes[0] & 0x0F, events[next].bytes);
      ++next;
    }
    std::int64_t until = std::min(frames, now + framesAtOnce);
    if (next < events.size()) until = std::min(until, events[next].sample.value);
    const auto count = static_cast<int>(until - now);
    synth.sound(buffer.data(), buffer.data() + 1, 2, count);
    const auto values = static_cast<std::size_t>(count) * 2;
    peak = std::max(peak, peakOf(buffer.data(), values));
    if (std::fwrite(buffer.data(), sizeof(float), values, scratch) != values)
      return "cannot be written: the disk is full";
    if (interrupted()) return "interrupted";
    now = until;
    progress.show(static_cast<double>(now) / static_cast<double>(frames));
  }
  return {};
}

std::string whyNoSound(SoundState state, const std::string& soundfont) {
  if (state == SoundState::noSynthesiser) return "--wav needs FluidSynth (the package libfluidsynth3)";
  if (state == SoundState::badSoundfont) return soundfont + ": is not a soundfont that FluidSynth can read";
  return "FluidSynth did not start (it takes rates from 8000 to 96000)";
}

void put(std::vector<std::uint8_t>& to, std::string_view name) {
  for (const char c : name) to.push_back(static_cast<std::uint8_t>(c));
}

void put(std::vector<std::uint8_t>& to, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) to.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

/// RIFF, WAVE, PCM, two channels, 16 bits.
std::vector<std::uint8_t> wavHeader(std::int64_t frames, std::int64_t rate) {
  const auto dataBytes = static_cast<std::uint32_t>(frames * 4);
  std::vector<std::uint8_t> h;
  put(h, "RIFF");
  put(h, dataBytes + 36, 4);
  put(h, "WAVEfmt ");
  put(h, 16, 4);
  put(h, 1, 2);
  put(h, 2, 2);
  put(h, static_cast<std::uint32_t>(rate), 4);
  put(h, static_cast<std::uint32_t>(rate * 4), 4);
  put(h, 4, 2);
  put(h, 16, 2);
  put(h, "data");
  put(h, dataBytes, 4);
  return h;
}

/// From floats to 16 bits, scaled by one factor for the whole.
void convert(std::FILE* scratch, float scale, OutputFile& to) {
  std::rewind(scratch);
  std::vector<float> in(std::size_t{framesAtOnce} * 2);
  std::vector<std::int16_t> out(in.size());
  const float factor = scale * 32767.0F;
  for (;;) {
    const std::size_t count = std::fread(in.data(), sizeof(float), in.size(), scratch);
    if (count == 0) break;
    for (std::size_t i = 0; i < count; ++i) {
      const float v = in[i] * factor;
      out[i] = static_cast<std::int16_t>(static_cast<std::int32_t>(v + (v < 0 ? -0.5F : 0.5F)));
    }
    if constexpr (std::endian::native == std::endian::big)  // a WAV has the low byte first
      for (std::size_t i = 0; i < count; ++i) {
        const auto u = static_cast<std::uint16_t>(out[i]);
        out[i] = static_cast<std::int16_t>(static_cast<std::uint16_t>((u << 8) | (u >> 8)));
      }
    to.write(std::span(reinterpret_cast<const std::uint8_t*>(out.data()), count * 2));
  }
}

void addPrograms(const Performance& p, std::vector<SoundEvent>& events) {
  for (const Playing& playing : p.playing) {
    if (playing.idiom == nullptr) continue;
    for (std::size_t i = 0; i < playing.idiom->parts.size() && i < limits::parts; ++i) {
      if (((playing.channels.partsOff >> i) & 1) != 0) continue;
      SoundEvent e;
      e.sample = p.time.sampleOf(playing.fileTick);
      e.bytes[0] = static_cast<std::uint8_t>(0xC0 | playing.channels.channel[i]);
      e.bytes[1] = playing.idiom->parts[i].program;
      events.push_back(e);
    }
  }
}

}  // namespace

std::vector<SoundEvent> soundEvents(const Performance& p, const Rendering& r) {
  std::vector<SoundEvent> events;
  events.reserve(p.inputs.size() + r.ours.size() + 16);
  addPrograms(p, events);
  const auto add = [&](Samples sample, const std::array<std::uint8_t, 3>& bytes) {
    SoundEvent e;
    e.sample = sample;
    std::copy(bytes.begin(), bytes.end(), e.bytes);
    events.push_back(e);
  };
  const auto addOurs = [&](bool offs) {
    for (const OurEvent& o : r.ours)
      if ((o.kind == OutputKind::noteOff) == offs) add(o.sample, o.bytes);
  };
  // At one sample: our note-offs, what passes, our note-ons (DESIGN, "Time and hand-off"); the sort below is stable.
  addOurs(true);
  for (std::size_t i = 0; i < p.inputs.size(); ++i)
    if (r.passed[i] != 0 && p.inputs[i].midi.bytes[0] < 0xF0) add(p.inputs[i].sample, p.inputs[i].midi.bytes);
  addOurs(false);
  std::stable_sort(events.begin(), events.end(),
                   [](const SoundEvent& a, const SoundEvent& b) { return a.sample < b.sample; });
  return events;
}

std::string writeWav(const Performance& p, const Rendering& r, const WavOptions& options) {
  OutputFile file(options.path);
  if (!file.fault().empty()) return file.fault();
  const std::string soundfont = findSoundfont(options.soundfont);
  if (soundfont.empty()) return "--wav needs a soundfont: install timgm6mb-soundfont, or name one by --soundfont FILE";
  Synthesiser synth;
  if (const auto state = synth.open({.soundfont = soundfont, .rate = static_cast<double>(options.rate)});
      state != SoundState::ready)
    return whyNoSound(state, soundfont);
  const auto events = soundEvents(p, r);
  const Samples last = events.empty() ? r.end : std::max(r.end, events.back().sample);
  const std::int64_t frames = last.value + static_cast<std::int64_t>(tailSeconds * static_cast<double>(options.rate));
  if (frames > std::int64_t{0xFFFFFF00} / 4) return options.path + ": a WAV file cannot hold so long a piece";
  const Scratch scratch(scratchBeside(options.path));
  if (scratch == nullptr) return options.path + ": cannot be written: no room for a scratch file";
  float peak = 0;
  if (const auto fault = synthesise(synth, events, frames, scratch.get(), peak); !fault.empty())
    return options.path + ": " + fault;
  file.write(wavHeader(frames, options.rate));
  convert(scratch.get(), peak > highestPeak ? highestPeak / peak : 1.0F, file);
  return file.commit();
}

}  // namespace seguente
