// What a session holds while it plays: what the engine has been told, the block in hand, and what is shown. Private to
// session.cpp (a block from begin to end), session_inputs.cpp (what goes in) and session_output.cpp (what comes out).
#pragma once

#include <array>
#include <atomic>
#include <span>

#include "dsp/engine.h"
#include "dsp/idiom_family.h"
#include "plugin/bar_count.h"
#include "plugin/note_map.h"
#include "plugin/session.h"

namespace seguente {

// More in one block are handed on in several calls, which changes nothing: blocks do not matter to the engine.
inline constexpr std::size_t mostInputs = 1024;
// Every key of every channel may be open when a host prepares anew.
inline constexpr std::size_t mostOwed = limits::channels * limits::keys + limits::soundingNotes;

struct Session::Body {
  Body(ParameterValues& parameterValues, SignalMap& signalMap, Handoff<SlotTable>& shelf, ViewBox& viewBox,
       std::atomic<std::uint32_t>& ownChoices, const OwnTimeBox& ownWishes, OrderBox& orders)
      : values(parameterValues),
        signals(signalMap),
        lent(shelf),
        box(viewBox),
        choices(ownChoices),
        ownTimeBox(ownWishes),
        orderBox(orders) {}

  ParameterValues& values;
  SignalMap& signals;
  Handoff<SlotTable>& lent;
  ViewBox& box;
  std::atomic<std::uint32_t>& choices;
  const OwnTimeBox& ownTimeBox;
  OrderBox& orderBox;

  Engine engine;
  HostTime time;
  OwnTime ownTime{};
  FirstChord first;
  bool restDue = false;  // time is to stand from the next block on
  KeySet heldAtRest;     // keys of the chord hand that were down when time came to stand
  NoteMap notes;
  double rate = 48000;

  // The running order, and the preset that waits for its bar line.
  Lent<OrderTable> order{};
  int orderAsked = 0;
  Ticks orderBar{};
  std::optional<Samples> orderDue;                  // as this block has it; empty: nothing waits
  std::array<std::uint8_t, limits::keys> forces{};  // how hard each key was struck last

  // This block.
  MidiOut out{};
  Samples start{};
  std::int64_t length = 0;
  std::array<Input, mostInputs> inputs{};
  std::array<std::span<const std::uint8_t>, mostInputs> whole{};  // the bytes of each input that is a message
  std::size_t count = 0;

  // What the engine has been told.
  Lent<SlotTable> table{};
  IdiomRef idiom{};
  Settings settings{};
  TimeSettings timeSettings{};
  int transpose = 0;
  std::uint32_t seenChanges = 0;
  std::uint32_t acknowledged = 0;
  bool bypassed = false;
  bool otherMeter = false;              // the hands' beat has been heard in another one
  std::atomic<std::uint32_t> given{0};  // signals from the screen, a bit each

  std::array<std::array<std::uint8_t, 3>, mostOwed> owed{};  // note-offs and pedals of the time before this prepare
  std::size_t owedCount = 0;

  View view{};
  BarCount bars;
  std::array<std::uint16_t, limits::keys> down{};       // keys that are down, bit a channel
  std::array<std::uint32_t, limits::keys> handFacts{};  // what told of each key's newest note
  bool dirty = true;
  Samples pictureDue{};

  // For the page.
  Timeline pageTime{};
  TimeAnchor pageTold{.playing = false};
  std::array<std::uint32_t, limits::keys> tuneIds{};  // of the tune's note that a key sounds; 0 none
  std::uint32_t lastTuneId = 0;
  std::int32_t toldSwing = 0;
  Ticks toldSwingPair{};

  void push(Input input, std::span<const std::uint8_t> bytes = {}) noexcept;
  void run(Samples until) noexcept;
  void flushSome() noexcept;
  Settings wished() noexcept;
  void readSettings(Samples at) noexcept;
  void readShelf(Samples at) noexcept;
  void chooseIdiom(Samples at) noexcept;
  void suitIdiom(Samples at) noexcept;
  void follow(Signal signal, Samples at) noexcept;
  void step(int way, Samples at) noexcept;
  void take(std::size_t slot, Samples at) noexcept;
  const Idiom* inMeter() const noexcept {  // who plays: the idiom, or its relative
    return idiom.idiom == nullptr ? nullptr : seguente::inMeter(*idiom.idiom, view.meter);
  }
  void readOrder() noexcept;
  Samples barLineAt(const EngineTime& now) const noexcept;
  void goTo(int place, Samples at) noexcept;
  void takePresetBefore(Samples until) noexcept;
  void takePreset(Samples at) noexcept;
  int transposeAt(Samples at) const noexcept;
  void strikeAnew(Samples at) noexcept;
  bool heardAsProgram(const MidiMessage& m, Samples at) noexcept;
  void transposed(MidiMessage& m, Samples at) noexcept;
  void liftKey(std::uint8_t channel, std::uint8_t key) noexcept;
  void strikeFirst(Samples at) noexcept;
  void beginOwn(Samples until) noexcept;
  void standOwn(Samples at) noexcept;
  bool opensChord(const MidiMessage& m) const noexcept;
  void sendClicks(Samples until) noexcept;
  void restOrGo(Samples until) noexcept;
  void tellTime(const TimeAnchor& anchor, std::optional<std::int64_t> said, Samples at) noexcept;
  void take(const Output& o) noexcept;
  void take(const Fact& f) noexcept;
  void tellPlayed(const Output& o, std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept;
  void owe(const Output& o) noexcept;
  void showHand(const Fact& f) noexcept;
  void showTime() noexcept;
  void publish() noexcept;
  void tellPage(const Output& o) noexcept;
  void tellPage(const Fact& f) noexcept;
  void tellPage(const TimeAnchor& anchor, Samples at) noexcept;
  void tellPageTime(const TimeAnchor& now, Samples at) noexcept;
  void tellSwing(Samples at) noexcept;
  void tellTune(NoteNumber key, Ticks tick) noexcept;
  void tellTuneEnd(NoteNumber key, Ticks tick) noexcept;
  Sink sink() noexcept {
    return {this, [](void* me, const Output& o) { static_cast<Body*>(me)->take(o); },
            [](void* me, const Fact& f) { static_cast<Body*>(me)->take(f); }};
  }
};

}  // namespace seguente
