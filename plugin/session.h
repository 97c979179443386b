// One playing instance: turns a block of messages, the host's position and the parameters into the engine's stamped
// inputs, and the engine's output into messages at their place in the block. No plugin format and no music in here.
//
// What is decided at a note-on (transposition) is used at its note-off. Whatever is owed when the host prepares anew is
// sent first in the next block.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "dsp/engine.h"
#include "dsp/handoff.h"
#include "plugin/host_time.h"
#include "plugin/order_table.h"
#include "plugin/own_time.h"
#include "plugin/parameters.h"
#include "plugin/shelf.h"
#include "plugin/signals.h"
#include "plugin/sound/played.h"
#include "plugin/view.h"

namespace seguente {

/// Where a session's messages go, in order of offset. [audio] must not allocate.
struct MidiOut {
  void* context = nullptr;
  /// offset: samples from the block's start, 0 <= offset < its length (0 in a block of none).
  void (*send)(void*, std::int64_t offset, std::span<const std::uint8_t> bytes) = nullptr;
  /// A note of ours, before its bytes are sent: why it sounds. May be null.
  void (*why)(void*, std::int64_t offset, const Output& note) = nullptr;
  /// The same messages, each before its bytes are sent, with who plays it; longer ones are left out. May be null.
  void (*played)(void*, const Played&) = nullptr;
};

class Session {
 public:
  Session(ParameterValues& values, SignalMap& signals, Handoff<SlotTable>& shelf, ViewBox& view);
  ~Session();

  /// Takes all memory. May be called again at any time between blocks; what sounds is ended in the next block.
  /// [message]
  void prepare(double rate);
  bool prepared() const noexcept { return prepared_; }

  /// One block: begin, its messages in order, end. [audio] noexcept, no allocation, no lock, bounded.
  /// position: empty when the host says nothing in this block. bypassed: nothing of ours sounds, all passes.
  void begin(const std::optional<HostPosition>& position, std::int64_t length, bool bypassed,
             const MidiOut& out) noexcept;
  void message(std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept;
  void end() noexcept;

  /// How own time begins and at what pace; taken at the top of the next block. [any] wait-free
  void setOwnTime(const OwnTime& wished) noexcept { ownTime_.set(wished); }
  OwnTime ownTime() const noexcept { return ownTime_.get(); }
  /// A signal from the screen; taken at the top of the next block. [any] wait-free.
  void give(Signal signal) noexcept;
  /// The running order that next and previous go through. [any], see OrderBox
  OrderBox& order() noexcept { return order_; }
  /// The slot in force, which a program change or a signal may have chosen. [any]
  int slot() const noexcept { return static_cast<int>(values_.get(ParameterId::idiom)); }
  /// Where the music stands: as of the end of the last block, which is the start of the next. [audio]
  EngineTime time() const noexcept;
  /// How often the player, not the host, has chosen the slot: the host is told when this changes. [any]
  std::uint32_t choices() const noexcept { return choices_.load(std::memory_order_acquire); }

 private:
  struct Body;
  ParameterValues& values_;
  SignalMap& signals_;
  Handoff<SlotTable>& shelf_;
  ViewBox& view_;
  std::atomic<std::uint32_t> choices_{0};
  OwnTimeBox ownTime_;
  OrderBox order_;
  std::unique_ptr<Body> body_;  // made by the first prepare
  bool prepared_ = false;
};

}  // namespace seguente
