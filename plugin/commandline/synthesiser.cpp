#include "plugin/commandline/synthesiser.h"

#include <dlfcn.h>
#include <fluidsynth.h>
#include <unistd.h>

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

// Loud enough for a melody with accompaniment, seldom near full scale; by ear.
constexpr double gain = 1.5;

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
         SEGUENTE_LOAD(fluid_synth_write_float) && SEGUENTE_LOAD(fluid_set_log_function);
#undef SEGUENTE_LOAD
}

void sayNothing(int, const char*, void*) {}

}  // namespace

struct Synthesiser::Body {
  void* library = nullptr;
  Functions f;
  fluid_settings_t* settings = nullptr;
  fluid_synth_t* synth = nullptr;
};

Synthesiser::Synthesiser() : body_(std::make_unique<Body>()) {}

Synthesiser::~Synthesiser() {
  if (body_->synth != nullptr) body_->f.delete_fluid_synth(body_->synth);
  if (body_->settings != nullptr) body_->f.delete_fluid_settings(body_->settings);
  // The library stays loaded: its own end-of-process work must not outlive it.
}

std::string Synthesiser::open(const std::string& soundfont, std::int64_t rate) {
  Body& b = *body_;
  b.library = ::dlopen("libfluidsynth.so.3", RTLD_NOW | RTLD_LOCAL);
  if (b.library == nullptr || !loadAll(b.library, b.f)) return "--wav needs FluidSynth (the package libfluidsynth3)";
  for (int level = FLUID_PANIC; level <= FLUID_DBG; ++level) b.f.fluid_set_log_function(level, &sayNothing, nullptr);
  b.settings = b.f.new_fluid_settings();
  b.f.fluid_settings_setnum(b.settings, "synth.sample-rate", static_cast<double>(rate));
  b.f.fluid_settings_setnum(b.settings, "synth.gain", gain);
  b.f.fluid_settings_setint(b.settings, "synth.cpu-cores", 1);
  b.synth = b.f.new_fluid_synth(b.settings);
  if (b.synth == nullptr) return "FluidSynth did not start (it takes rates from 8000 to 96000)";
  if (b.f.fluid_synth_sfload(b.synth, soundfont.c_str(), 1) < 0)
    return soundfont + ": is not a soundfont that FluidSynth can read";
  return {};
}

void Synthesiser::send(const std::uint8_t bytes[3]) {
  const Body& b = *body_;
  const int channel = bytes[0] & 0x0F;
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

void Synthesiser::sound(float* into, int frames) {
  body_->f.fluid_synth_write_float(body_->synth, frames, into, 0, 2, into, 1, 2);
}

std::string findSoundfont(const std::string& wanted) {
  if (!wanted.empty()) return wanted;
  for (const char* path : soundfonts)
    if (::access(path, R_OK) == 0) return path;
  return {};
}

}  // namespace seguente
