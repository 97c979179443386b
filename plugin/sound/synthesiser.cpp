#include "plugin/sound/synthesiser.h"

#include <dlfcn.h>
#include <fluidsynth.h>
#include <unistd.h>

#include <array>
#include <fstream>
#include <string_view>

namespace seguente {

namespace {

// MIT-licensed fonts first, so that a result may be given away (Debian's copyright files); TimGM6mb is GPL-2.
constexpr const char* soundfonts[] = {
    "/usr/share/sounds/sf3/MuseScore_General_Lite.sf3",
    "/usr/share/sounds/sf3/MuseScore_General.sf3",
    "/usr/share/sounds/sf2/FluidR3_GM.sf2",
    "/usr/share/sounds/sf2/TimGM6mb.sf2",
    "/usr/share/sounds/sf3/default-GM.sf3",
    "/usr/share/sounds/sf2/default-GM.sf2",
};

/// The functions that we call, by their own types.
struct Functions {
#define SEGUENTE_FLUID(name) decltype(&::name) name = nullptr
  SEGUENTE_FLUID(new_fluid_settings);
  SEGUENTE_FLUID(delete_fluid_settings);
  SEGUENTE_FLUID(fluid_settings_setnum);
  SEGUENTE_FLUID(fluid_settings_setint);
  SEGUENTE_FLUID(new_fluid_synth);
  SEGUENTE_FLUID(delete_fluid_synth);
  SEGUENTE_FLUID(fluid_synth_sfload);
  SEGUENTE_FLUID(fluid_synth_noteon);
  SEGUENTE_FLUID(fluid_synth_noteoff);
  SEGUENTE_FLUID(fluid_synth_cc);
  SEGUENTE_FLUID(fluid_synth_program_change);
  SEGUENTE_FLUID(fluid_synth_pitch_bend);
  SEGUENTE_FLUID(fluid_synth_channel_pressure);
  SEGUENTE_FLUID(fluid_synth_key_pressure);
  SEGUENTE_FLUID(fluid_synth_write_float);
  SEGUENTE_FLUID(fluid_set_log_function);
  SEGUENTE_FLUID(fluid_synth_system_reset);
  SEGUENTE_FLUID(fluid_synth_set_channel_type);
  SEGUENTE_FLUID(fluid_synth_all_sounds_off);
  SEGUENTE_FLUID(fluid_synth_get_active_voice_count);
#undef SEGUENTE_FLUID
};

template <class Function>
bool load(void* library, const char* name, Function& into) {
  into = reinterpret_cast<Function>(::dlsym(library, name));
  return into != nullptr;
}

bool loadAll(void* library, Functions& f) {
#define SEGUENTE_LOAD(name) load(library, #name, f.name)
  return SEGUENTE_LOAD(new_fluid_settings) && SEGUENTE_LOAD(delete_fluid_settings) &&
         SEGUENTE_LOAD(fluid_settings_setnum) && SEGUENTE_LOAD(fluid_settings_setint) &&
         SEGUENTE_LOAD(new_fluid_synth) && SEGUENTE_LOAD(delete_fluid_synth) && SEGUENTE_LOAD(fluid_synth_sfload) &&
         SEGUENTE_LOAD(fluid_synth_noteon) && SEGUENTE_LOAD(fluid_synth_noteoff) && SEGUENTE_LOAD(fluid_synth_cc) &&
         SEGUENTE_LOAD(fluid_synth_program_change) && SEGUENTE_LOAD(fluid_synth_pitch_bend) &&
         SEGUENTE_LOAD(fluid_synth_channel_pressure) && SEGUENTE_LOAD(fluid_synth_key_pressure) &&
         SEGUENTE_LOAD(fluid_synth_write_float) && SEGUENTE_LOAD(fluid_set_log_function) &&
         SEGUENTE_LOAD(fluid_synth_system_reset) && SEGUENTE_LOAD(fluid_synth_set_channel_type) &&
         SEGUENTE_LOAD(fluid_synth_all_sounds_off) && SEGUENTE_LOAD(fluid_synth_get_active_voice_count);
#undef SEGUENTE_LOAD
}

/// SoundFont 2.04, section 4: RIFF, a length, sfbk; version 3 too. Asked first, because what is none goes to a reader
/// of another format, which complains on stderr.
bool isSoundfont(const std::string& path) {
  std::array<char, 12> head{};
  std::ifstream(path, std::ios::binary).read(head.data(), head.size());
  const std::string_view text(head.data(), head.size());
  return text.starts_with("RIFF") && text.ends_with("sfbk");
}

void sayNothing(int, const char*, void*) {}

}  // namespace

const char* whyNoSound(SoundState state) noexcept {
  switch (state) {
    case SoundState::notLoaded:
    case SoundState::ready:
      break;
    case SoundState::noSynthesiser:
      return "No sound: FluidSynth is not installed (Debian: libfluidsynth3). The notes still go out.";
    case SoundState::noSoundfont:
      return "No sound: no soundfont is installed (Debian: timgm6mb-soundfont). The notes still go out.";
    case SoundState::badSoundfont:
      return "No sound: the soundfont cannot be read. The notes still go out.";
    case SoundState::badRate:
      return "No sound: FluidSynth plays at 8,000 to 96,000 samples a second. The notes still go out.";
  }
  return "";
}

struct Synthesiser::Body {
  void* library = nullptr;
  Functions f;
  fluid_settings_t* settings = nullptr;
  fluid_synth_t* synth = nullptr;
  int channels = 16;

  /// FluidSynth has percussion on the first tenth channel alone.
  void setPercussion() const {
    for (int c = 9; c < channels; c += 16) {
      f.fluid_synth_set_channel_type(synth, c, CHANNEL_TYPE_DRUM);
      f.fluid_synth_program_change(synth, c, 0);
    }
  }
  void close(fluid_settings_t* oldSettings, fluid_synth_t* oldSynth) const {
    if (oldSynth != nullptr) f.delete_fluid_synth(oldSynth);
    if (oldSettings != nullptr) f.delete_fluid_settings(oldSettings);
  }
};

Synthesiser::Synthesiser() : body_(std::make_unique<Body>()) {}

Synthesiser::~Synthesiser() {
  body_->close(body_->settings, body_->synth);
  // The library stays loaded: its own end-of-process work must not outlive it.
}

SoundState Synthesiser::open(const SynthesiserWishes& wishes) {
  Body& b = *body_;
  if (b.library == nullptr) {
    b.library = ::dlopen(wishes.library, RTLD_NOW | RTLD_LOCAL);
    if (b.library == nullptr || !loadAll(b.library, b.f)) return SoundState::noSynthesiser;
    // What it would say on stderr (a preset that is not there) is of no use to a player.
    for (int level = FLUID_PANIC; level <= FLUID_DBG; ++level) b.f.fluid_set_log_function(level, &sayNothing, nullptr);
  }
  auto* const oldSettings = b.settings;
  auto* const oldSynth = b.synth;
  b.settings = b.f.new_fluid_settings();
  b.f.fluid_settings_setnum(b.settings, "synth.sample-rate", wishes.rate);
  b.f.fluid_settings_setnum(b.settings, "synth.gain", wishes.gain);
  b.f.fluid_settings_setint(b.settings, "synth.cpu-cores", 1);
  b.f.fluid_settings_setint(b.settings, "synth.midi-channels", wishes.channels);
  b.f.fluid_settings_setint(b.settings, "synth.threadsafe-api", 0);
  b.f.fluid_settings_setint(b.settings, "synth.chorus.active", wishes.chorus ? 1 : 0);
  const bool rateTaken = wishes.rate >= 8000 && wishes.rate <= 96000;
  b.synth = rateTaken ? b.f.new_fluid_synth(b.settings) : nullptr;
  auto state = b.synth != nullptr ? SoundState::ready : SoundState::badRate;
  if (b.synth != nullptr &&
      (!isSoundfont(wishes.soundfont) || b.f.fluid_synth_sfload(b.synth, wishes.soundfont.c_str(), 1) < 0))
    state = SoundState::badSoundfont;
  b.channels = wishes.channels;
  if (state == SoundState::ready) b.setPercussion();
  b.close(oldSettings, oldSynth);  // only now: its samples, if they are the same, were shared and not read again
  return state;
}

void Synthesiser::reset() {
  body_->f.fluid_synth_system_reset(body_->synth);
  body_->setPercussion();
}

void Synthesiser::send(int channel, std::span<const std::uint8_t, 3> bytes) noexcept {
  const Body& b = *body_;
  const int first = bytes[1] & 0x7F;
  const int second = bytes[2] & 0x7F;
  switch (bytes[0] & 0xF0) {
    case 0x80:
      b.f.fluid_synth_noteoff(b.synth, channel, first);
      break;
    case 0x90:
      if (second > 0)
        b.f.fluid_synth_noteon(b.synth, channel, first, second);
      else
        b.f.fluid_synth_noteoff(b.synth, channel, first);
      break;
    case 0xA0:
      b.f.fluid_synth_key_pressure(b.synth, channel, first, second);
      break;
    case 0xB0:
      b.f.fluid_synth_cc(b.synth, channel, first, second);
      break;
    case 0xC0:
      b.f.fluid_synth_program_change(b.synth, channel, first);
      break;
    case 0xD0:
      b.f.fluid_synth_channel_pressure(b.synth, channel, first);
      break;
    case 0xE0:
      b.f.fluid_synth_pitch_bend(b.synth, channel, first | (second << 7));
      break;
    default:
      break;
  }
}

void Synthesiser::sound(float* left, float* right, int stride, int frames) noexcept {
  body_->f.fluid_synth_write_float(body_->synth, frames, left, 0, stride, right, 0, stride);
}

void Synthesiser::silence() noexcept { body_->f.fluid_synth_all_sounds_off(body_->synth, -1); }

int Synthesiser::voices() const noexcept { return body_->f.fluid_synth_get_active_voice_count(body_->synth); }

std::span<const char* const> knownSoundfonts() noexcept { return soundfonts; }

std::string findSoundfont(const std::string& wanted, std::span<const char* const> among) {
  if (!wanted.empty()) return wanted;
  for (const char* path : among)
    if (::access(path, R_OK) == 0) return path;
  return {};
}

}  // namespace seguente
