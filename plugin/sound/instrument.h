// The sound of Seguente: tune and accompaniment through FluidSynth and an installed soundfont, each part on a channel
// of its own whatever channel its MIDI goes out on, balanced, at a safe level, and limited so that nothing clips.
//
// FluidSynth is found at run time: whoever has no library or no soundfont gets silence and a state that says why.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <string>

#include "plugin/sound/played.h"
#include "plugin/sound/sound_level.h"
#include "plugin/sound/synthesiser.h"

namespace seguente {

class Instrument {
 public:
  static constexpr float standardVolume = 60;

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

  /// The messages of a block in order of offset, then its sound, written over what was in the buffers; silence unless
  /// ready. Then the volume, apart, so that what is recorded does not depend on it. [audio] FluidSynth's work is in
  /// here, which is not free of asking the system: OpenMP, with which Debian builds it, takes a little memory at each
  /// of its steps. So this is called outside the guarded part of a block: the one exemption, and counted.
  void add(const Played& event) noexcept;
  void render(float* left, float* right, int frames) noexcept;
  void applyVolume(float* left, float* right, int frames) noexcept;
  /// Everything falls silent with the next render. [any]
  void silence() noexcept { silence_.store(true, std::memory_order_release); }

  /// 0 to 100, 60 at first: a comfortable level; 100 is 9 dB louder, and still never clips. [any]
  void setVolume(double percent) noexcept { volume_.store(static_cast<float>(percent), std::memory_order_relaxed); }
  double volume() const noexcept { return static_cast<double>(volume_.load(std::memory_order_relaxed)); }
  /// How loud a part is beside the others, -40 to 4 decibels, 0 at first. [any]
  void setBalance(Role role, double decibels) noexcept {
    balance_[static_cast<std::size_t>(role)].store(static_cast<float>(decibels), std::memory_order_relaxed);
  }
  /// The greatest sample that was heard since the last call, and how far the limiter had to turn down. [any]
  SoundLevel takeLevel() noexcept { return level_.take(); }
  /// Blocks that were rendered: the one thing that may run on the audio thread outside the guard. [any]
  std::uint32_t blocks() const noexcept { return blocks_.load(std::memory_order_relaxed); }

 private:
  struct Body;
  std::unique_ptr<Body> body_;
  std::string wanted_;
  std::atomic<SoundState> state_{SoundState::notLoaded};
  std::atomic<bool> silence_{false};
  std::atomic<float> volume_{standardVolume};
  std::array<std::atomic<float>, roles> balance_{};
  std::atomic<std::uint32_t> blocks_{0};
  LevelBox level_;
};

}  // namespace seguente
