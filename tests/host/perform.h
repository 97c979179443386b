// A host at work: it cuts time into blocks, says where its transport is, hands over the notes, moves the parameters,
// and keeps what comes back.
#pragma once

#include <juce_audio_processors/juce_audio_processors.h>

#include <functional>
#include <vector>

#include "tests/host/bundle.h"
#include "tests/host/piece.h"
#include "tests/support/random.h"

namespace seguente::host {

/// What this host says of its transport. [any]
enum class Says {
  everything,  // in every block
  noBars,      // in every block, without bar line and count of bars
  onChange,    // only where something changes
  nothing,
};

/// How a host does its work. [any]
struct Performing {
  test::Blocks blocks{{512}, {}};
  Says says = Says::everything;
  bool records = false;   // while it rolls
  bool cut = true;        // a block ends where the transport or a parameter changes
  int audioChannels = 0;  // of the buffer
  int largest = 1024;     // what prepareToPlay is told; blocks may be larger
};

/// Sets a parameter of whatever is played to a plain value.
using Setter = std::function<void(ParameterId, double)>;

/// [message]
class Host {
 public:
  Host(juce::AudioProcessor& plugin, Setter set, const Piece& piece, Performing how = {});
  Host(Bundle& bundle, const Piece& piece, Performing how = {});
  ~Host();
  Host(const Host&) = delete;
  Host& operator=(const Host&) = delete;

  /// Blocks until that sample. `bypassed`: by the host's own call for it.
  Host& playUntil(Samples end, bool bypassed = false);
  Host& playUntil(Ticks tick) { return playUntil(piece_.score().sampleOf(tick)); }
  /// One block of n samples, with everything of the piece that falls into it.
  void block(std::int64_t n, bool bypassed = false);
  /// Hosts do this when the driver changes.
  void prepareAgain(double rate, int largest);

  const std::vector<Heard>& heard() const { return heard_; }
  Samples now() const { return Samples{now_}; }
  /// Gives this message with the next block, at its offset.
  void send(std::vector<std::uint8_t> bytes, int offset = 0);

 private:
  struct Head;
  void sayWhere();
  std::int64_t nextEnd(std::int64_t end);

  juce::AudioProcessor& plugin_;
  Setter set_;
  const Piece& piece_;
  Performing how_;
  std::unique_ptr<Head> head_;
  std::vector<Input> notes_;
  std::vector<std::int64_t> cuts_;
  std::vector<Heard> heard_;
  juce::MidiBuffer midi_, extra_;
  juce::AudioBuffer<float> audio_;
  test::Random random_;
  std::size_t turn_ = 0, nextNote_ = 0, nextChange_ = 0;
  std::int64_t now_ = 0;
};

/// The whole piece through a new instance of the bundle. [message]
std::vector<Heard> perform(Format format, const Piece& piece, const Performing& how = {});

/// What a format can carry of it: VST3 says "let go" where MIDI may say "struck with velocity 0". [any]
std::vector<Heard> asCarried(Format format, std::vector<Heard> heard);

}  // namespace seguente::host
