// The sound of Seguente: tune and accompaniment through FluidSynth and an installed soundfont, each part on a channel of
// its own whatever channel its MIDI goes out on, balanced, at a safe level, and limited so that nothing clips.
//
// FluidSynth is found at run time: whoever has no library or no soundfont gets silence and a state that says why.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <string>

#include "plugin/sound/sound_level.h"

namespace seguente {

/// Who plays a message. [any]
enum class Role : std::uint8_t { tune, bass, chords, counterLine, percussion, click };
inline constexpr std::size_t roles = 6;

/// A message at its place in a block, and who plays it. [any]
struct SoundEvent {
  std::int32_t offset = 0;  // samples from the block's start
  std::array<std::uint8_t, 3> bytes{};
  Role role = Role::tune;    // of a note-on; a note-off finds its note by channel and key
  std::uint8_t part = 0;     // index into the idiom's parts, 0..3; nothing for tune and click
  std::uint8_t program = 0;  // General MIDI, from 0; of an accompaniment's note
  bool pedal = false;        // the part asks for the sustain pedal: it follows the pedals of the accompaniment
  bool ours = false;         // a note-off or a controller of the accompaniment
};

/// Why there is sound, or none. [any]
enum class SoundState : std::uint8_t {
  notLoaded,     // nobody has asked yet
  ready,
  noSynthesiser,  // libfluidsynth.so.3 is not installed (Debian: libfluidsynth3)
  noSoundfont,    // none of the known ones is installed (Debian: timgm6mb-soundfont)
  badSoundfont,   // the one that was asked for is not there or cannot be read
  badRate,        // FluidSynth takes 8,000 to 96,000 samples a second
};

class Instrument {
 public:
  /// Loads nothing. soundfont: a file, or empty for the first that is installed. [message]
  explicit Instrument(std::string soundfont = {});
  ~Instrument();
  Instrument(const Instrument&) = delete;
  Instrument& operator=(const Instrument&) = delete;

  /// Loads library and soundfont if they are not there yet (some 50 ms for a small one; its samples are shared by all
  /// instances of a process) and takes all memory. Nothing sounds on from before. Not while a block runs. [message]
  SoundState prepare(double rate);
  SoundState state() const noexcept { return state_.load(std::memory_order_acquire); }
  /// The file that sounds; empty when none does. [message]
  const std::string& soundfont() const noexcept;

  /// The messages of a block, in order of offset, then its sound, which is written over what was in the buffers.
  /// Silence unless ready. [audio] FluidSynth's own work is in here: it takes no lock and asks for no memory as we set
  /// it up, but that is its promise and a test's, not the engine's: kept outside the guarded part of a block.
  void add(const SoundEvent& event) noexcept;
  void render(float* left, float* right, int frames) noexcept;
  /// Everything ends at once, as at a stop. Taken by the next render. [any]
  void silence() noexcept { silence_.store(true, std::memory_order_release); }

  /// 0 to 100, 60 at first: a comfortable level; 100 is 9 dB louder. Glides within a block. [any]
  void setVolume(double percent) noexcept { volume_.store(static_cast<float>(percent), std::memory_order_relaxed); }
  double volume() const noexcept { return volume_.load(std::memory_order_relaxed); }
  /// How loud a part is beside the others, in decibels, 0 at first. [any]
  void setBalance(Role role, double decibels) noexcept {
    balance_[static_cast<std::size_t>(role)].store(static_cast<float>(decibels), std::memory_order_relaxed);
  }
  /// The greatest sample since the last call, after the limiter (1 is full scale), and how far it had to turn down. [any]
  SoundLevel takeLevel() noexcept { return level_.take(); }
  /// Blocks that were rendered: the one thing that may run on the audio thread outside the guard. [any]
  std::uint32_t blocks() const noexcept { return blocks_.load(std::memory_order_relaxed); }

 private:
  struct Body;
  std::unique_ptr<Body> body_;
  std::string wanted_;
  std::atomic<SoundState> state_{SoundState::notLoaded};
  std::atomic<bool> silence_{false};
  std::atomic<float> volume_{60};
  std::array<std::atomic<float>, roles> balance_{};
  std::atomic<std::uint32_t> blocks_{0};
  LevelBox level_;
};

}  // namespace seguente
