// Sound through FluidSynth, loaded only when it is asked for (linking it costs every run 6 ms), into a 16-bit WAV.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"

namespace seguente {

struct WavOptions {
  std::string path;
  std::string soundfont;  // "": the first that is installed, an MIT-licensed one before others
  std::int64_t rate = 48000;
};

/// What happens at a sample, for the synthesiser: a message of the file or of ours. [any]
struct SoundEvent {
  Samples sample{};
  std::uint8_t bytes[3] = {0, 0, 0};
};

/// What sounds: all that passed, our programs and our notes, in order of sample. [message]
std::vector<SoundEvent> soundEvents(const Performance& performance, const Rendering& rendering);

/// Renders and writes. Never clips: the whole is scaled only if its peak passes 0.98. Returns one line or "". [message]
std::string writeWav(const Performance& performance, const Rendering& rendering, const WavOptions& options);

}  // namespace seguente
