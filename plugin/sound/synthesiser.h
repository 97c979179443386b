// FluidSynth behind a few words, found at run time: whoever does not want sound needs no library, and a plugin without
// it still loads and can say what is missing.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>

namespace seguente {

/// Why there is sound, or none. [any]
enum class SoundState : std::uint8_t {
  notLoaded,  // nobody has asked yet
  ready,
  noSynthesiser,  // libfluidsynth.so.3 is not installed (Debian: libfluidsynth3)
  noSoundfont,    // none of the known ones is installed (Debian: timgm6mb-soundfont)
  badSoundfont,   // the one that was asked for is not there or cannot be read
  badRate,        // FluidSynth takes 8,000 to 96,000 samples a second
};

/// For people: what is missing, and what to install. "" when ready, or when nobody has asked. [any]
const char* whyNoSound(SoundState state) noexcept;

/// [message]
struct SynthesiserWishes {
  std::string soundfont;
  double rate = 48000;  // samples a second
  int channels = 16;    // 16 or 32; each sixteen has its percussion on the tenth (General MIDI 1)
  double gain = 1.5;    // loud enough for a melody with accompaniment, seldom near full scale; by ear
  bool chorus = true;   // FluidSynth's own, on whatever sends to it
  const char* library = "libfluidsynth.so.3";
};

/// Used by one thread at a time: FluidSynth's own lock is left out, so that an audio thread waits for nobody.
class Synthesiser {
 public:
  Synthesiser();
  ~Synthesiser();
  Synthesiser(const Synthesiser&) = delete;
  Synthesiser& operator=(const Synthesiser&) = delete;

  /// Loads the library and the soundfont, whose samples are shared by all of one process. The second call and later
  /// ones take another rate or soundfont. [message]
  SoundState open(const SynthesiserWishes& wishes);
  /// As it was when it was opened: silent, every controller and program where it stood. Only when ready. [message]
  void reset();

  // What follows only after open has said ready. [audio]
  /// A voice message, now; `channel` is used instead of its own.
  void send(int channel, std::span<const std::uint8_t, 3> bytes) noexcept;
  /// `frames` more samples; left and right each go on by `stride` floats.
  void sound(float* left, float* right, int stride, int frames) noexcept;
  /// Every channel falls silent at once.
  void silence() noexcept;
  /// Notes that sound or die away.
  int voices() const noexcept;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

/// The files that are looked for, in this order: those that may be given away with a result first.
std::span<const char* const> knownSoundfonts() noexcept;
/// The soundfont to use: `wanted`, or the first of these that can be read. Empty when there is none. [message]
std::string findSoundfont(const std::string& wanted, std::span<const char* const> among = knownSoundfonts());

}  // namespace seguente
