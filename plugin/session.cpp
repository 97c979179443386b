#include "plugin/session.h"

#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

Session::Session(ParameterValues& values, SignalMap& signals, Handoff<SlotTable>& shelf, ViewBox& view)
    : values_(values), signals_(signals), shelf_(shelf), view_(view) {}
Session::~Session() = default;

void Session::prepare(double rate) {
  if (!body_) body_ = std::make_unique<Body>(values_, signals_, shelf_, view_, choices_, ownTime_, order_);
  view_.told().open();
  auto& b = *body_;
  if (prepared_) b.engine.silence({&b, [](void* me, const Output& o) { static_cast<Body*>(me)->owe(o); }, nullptr});
  b.engine.prepare(rate);
  b.signals.forget();
  b.time.prepare(rate);
  b.first.forget();
  b.heldAtRest = {};
  b.restDue = false;
  b.rate = rate;
  b.start = {};
  b.count = 0;
  b.idiom = {};
  b.seenChanges = 0;
  b.bypassed = false;
  b.view = {};
  b.pageTime = {};  // samples are counted anew
  b.pageTold = {.playing = false};
  b.tuneIds = {};
  b.bars.forget();
  b.down = {};
  b.handFacts = {};
  b.pictureDue = {};
  b.dirty = true;
  prepared_ = true;
}

void Session::begin(const std::optional<HostPosition>& position, std::int64_t length, bool bypassed,
                    const MidiOut& out) noexcept {
  auto& b = *body_;
  b.out = out;
  b.length = std::max<std::int64_t>(length, 0);
  b.count = 0;
  for (std::size_t i = 0; i < b.owedCount; ++i) {
    if (out.played != nullptr) out.played(out.context, {.bytes = b.owed[i], .ours = true});
    out.send(out.context, 0, b.owed[i]);
  }
  b.owedCount = 0;
  if (bypassed != b.bypassed) {
    b.bypassed = b.view.bypassed = bypassed;
    b.push(Input::bypassAt(b.start, bypassed));
  }
  const auto ownTime = b.ownTimeBox.get();
  if (b.values.changes() != b.seenChanges || ownTime != b.ownTime) {
    b.ownTime = ownTime;
    b.readSettings(b.start);
  }
  b.readShelf(b.start);
  if (const auto anchor = b.time.block(position, b.start, b.length, b.timeSettings))
    b.tellTime(*anchor, position ? position->bar : std::nullopt, b.start);
  if (b.otherMeter) b.suitIdiom(b.start);
  if (b.restDue) b.standOwn(b.start);
  b.readOrder();
  if (b.given.load(std::memory_order_relaxed) != 0) {
    const auto bits = b.given.exchange(0, std::memory_order_acquire);
    for (std::size_t i = 0; i < signalCount; ++i)
      if (((bits >> i) & 1u) != 0) b.follow(static_cast<Signal>(i), b.start);
  }
}

void Session::message(std::int64_t offset, std::span<const std::uint8_t> bytes) noexcept {
  if (bytes.empty()) return;
  auto& b = *body_;
  const Samples at{b.start.value + std::clamp<std::int64_t>(offset, 0, std::max<std::int64_t>(b.length - 1, 0))};
  MidiMessage m;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, bytes.size()); ++i) m.bytes[i] = bytes[i];
  m.length = static_cast<std::uint32_t>(bytes.size());
  b.takePresetBefore(Samples{at.value + 1});
  const auto heard = b.signals.hear(m);
  if (heard.signal) b.follow(*heard.signal, at);
  if (heard.taken || b.heardAsProgram(m, at)) return;
  if (m.noteOn()) b.forces[m.bytes[1] & 0x7F] = m.bytes[2];
  b.transposed(m, at);
  const auto key = static_cast<std::uint8_t>(m.bytes[1] & 0x7F);
  if (b.opensChord(m)) b.strikeFirst(at);
  if (b.first.underWay()) b.beginOwn(Samples{at.value + 1});
  if (m.noteOn()) b.down[key] = static_cast<std::uint16_t>(b.down[key] | 1u << m.channel());
  if (m.noteOff()) b.liftKey(m.channel(), key);
  b.push(Input::of(at, m), bytes);
}

void Session::end() noexcept {
  auto& b = *body_;
  const Samples until{b.start.value + b.length};
  if (b.first.underWay()) b.beginOwn(until);
  b.takePresetBefore(until);
  b.run(until);
  if (b.first.underWay()) b.sendClicks(until);
  if (b.ownTime.withFirstChord) b.restOrGo(until);
  b.start = until;
  if (const bool holding = b.engine.holding(); holding != b.view.holding) {
    b.view.holding = holding;
    b.dirty = true;
  }
  const auto released = b.engine.releasedGeneration();
  if (released != b.acknowledged) {
    b.acknowledged = released;
    b.lent.acknowledge(released);
  }
  if (b.dirty || (b.view.playing && b.start >= b.pictureDue)) b.publish();
}

EngineTime Session::time() const noexcept { return body_->engine.time(); }

void Session::give(Signal signal) noexcept {
  if (body_) body_->given.fetch_or(1u << static_cast<unsigned>(signal), std::memory_order_release);
}

}  // namespace seguente
