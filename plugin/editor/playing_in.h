// A figure that is played in at the desk, from the first key to the idiom on the shelf: listens, reads, asks for a
// name, keeps. No drawing in here.
#pragma once

#include <optional>
#include <string>

#include "dsp/notate/notate.h"
#include "plugin/played_in.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

/// rests: nothing is asked. listens: the accompaniment is silent, what is played is the figure. asks: it was read, or
/// only its chord is missing, and its name is asked for.
enum class PlayingInStage : std::uint8_t { rests, listens, asks };

/// [message] throughout.
class PlayingIn {
 public:
  explicit PlayingIn(Processor& processor) : processor_(processor) {}
  /// A window that closes does not leave the accompaniment silent.
  ~PlayingIn() { stop(); }
  PlayingIn(const PlayingIn&) = delete;
  PlayingIn& operator=(const PlayingIn&) = delete;

  PlayingInStage stage() const { return stage_; }
  void begin();
  /// Takes over what the audio thread has told. Thirty times a second.
  void listen();
  /// The figure has been played: reads it. Back at rest, with a fault, when there is nothing to be read.
  void done();
  void forget();
  /// Reads it once more, over the chord of this symbol; empty: the chord that was held.
  void readOver(const std::string& symbol);
  /// Into the player's folder under this name, and chosen. What stands in the way is the fault, and the stage stays.
  bool keep(const std::string& name);

  /// Of the clock, while it listens; 0 before the first key, or when no time runs.
  int bars() const { return played_ ? played_->bars() : 0; }
  bool hasNotes() const { return played_ && played_->hasNotes(); }
  /// As read; fault empty when it is good.
  const notate::Notation& figure() const { return figure_; }
  /// One line for the player; empty: none.
  const std::string& fault() const { return fault_; }

 private:
  void stop();
  void read(const std::optional<Chord>& chord);

  Processor& processor_;
  PlayingInStage stage_ = PlayingInStage::rests;
  std::optional<PlayedIn> played_;
  notate::Take take_;
  notate::Notation figure_;
  std::optional<Chord> before_;  // that was held, or kept, when it began
  std::string fault_;
};

}  // namespace seguente::screen
