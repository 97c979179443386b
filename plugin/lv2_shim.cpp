// Stands between an LV2 host and our framework's LV2 wrapper, which reads only time:beat, in quarters, and forgets the
// host's place at every block. Here each block, and each piece of one in which the host says something new, begins with
// a complete time:Position; everything else passes unchanged and in order. No patch to the framework: the wrapper's
// lv2_descriptor is renamed by a definition on its target, and ours is the one that the bundle exports.
//
// Nothing is lost for want of room. In: where a piece's events do not fit our buffer, the piece ends there and another
// begins at the same sample. Out: what does not fit the host's buffer waits, and goes first in the next block; when
// very much waits, note-offs and "all off" have the last 64 KiB of the queue for themselves. Lost are only a message of
// more than 64 KiB, and one that is larger than the host's whole port.
//
// [audio] run; instantiate and cleanup allocate. The handle stays the wrapper's own (its UI and state get it from the
// host), so ours is found by it in a table that is read without a lock.
#include <lv2/atom/forge.h>
#include <lv2/atom/util.h>
#include <lv2/core/lv2.h>
#include <lv2/midi/midi.h>
#include <lv2/time/time.h>
#include <lv2/urid/urid.h>

#include <array>
#include <atomic>
#include <cstdint>
#include <cstring>
#include <memory>
#include <mutex>
#include <optional>
#include <utility>

#include "plugin/lv2_time.h"

#undef lv2_descriptor

extern "C" const LV2_Descriptor* juce_lv2_descriptor(std::uint32_t index);

namespace seguente {

namespace {

// The wrapper counts audio ports first: a MIDI effect has none.
#ifndef SEGUENTE_LV2_AUDIO_OUTPUTS
#define SEGUENTE_LV2_AUDIO_OUTPUTS 0
#endif
constexpr std::uint32_t audioPorts = SEGUENTE_LV2_AUDIO_OUTPUTS;
constexpr std::uint32_t inPort = audioPorts, outPort = audioPorts + 1;
constexpr std::size_t inRoom = 131072, outRoom = 524288, queueRoom = 262144, noteOffRoom = 65536;

/// One event of a sequence, padded to 8 bytes as the atom specification has it.
constexpr std::size_t sizeOf(const LV2_Atom_Event& event) {
  return sizeof(LV2_Atom_Event) + ((std::size_t{event.body.size} + 7u) & ~std::size_t{7u});
}

struct Urids {
  LV2_URID blank, object, sequence, boolean, integer, longInteger, floating, doubleFloating, midi;
  LV2_URID position, bar, barBeat, beat, beatUnit, beatsPerBar, beatsPerMinute, frame, speed, framesPerSecond;
  explicit Urids(const LV2_URID_Map& map)
      : blank(map.map(map.handle, LV2_ATOM__Blank)),
        object(map.map(map.handle, LV2_ATOM__Object)),
        sequence(map.map(map.handle, LV2_ATOM__Sequence)),
        boolean(map.map(map.handle, LV2_ATOM__Bool)),
        integer(map.map(map.handle, LV2_ATOM__Int)),
        longInteger(map.map(map.handle, LV2_ATOM__Long)),
        floating(map.map(map.handle, LV2_ATOM__Float)),
        doubleFloating(map.map(map.handle, LV2_ATOM__Double)),
        midi(map.map(map.handle, LV2_MIDI__MidiEvent)),
        position(map.map(map.handle, LV2_TIME__Position)),
        bar(map.map(map.handle, LV2_TIME__bar)),
        barBeat(map.map(map.handle, LV2_TIME__barBeat)),
        beat(map.map(map.handle, LV2_TIME__beat)),
        beatUnit(map.map(map.handle, LV2_TIME__beatUnit)),
        beatsPerBar(map.map(map.handle, LV2_TIME__beatsPerBar)),
        beatsPerMinute(map.map(map.handle, LV2_TIME__beatsPerMinute)),
        frame(map.map(map.handle, LV2_TIME__frame)),
        speed(map.map(map.handle, LV2_TIME__speed)),
        framesPerSecond(map.map(map.handle, LV2_TIME__framesPerSecond)) {}
  bool isOfPosition(LV2_URID key) const {
    for (const auto known : {bar, barBeat, beat, beatUnit, beatsPerBar, beatsPerMinute, frame, speed, framesPerSecond})
      if (key == known) return true;
    return false;
  }
};

/// A sequence in memory of our own, aligned as atoms are.
class Sequence {
 public:
  explicit Sequence(std::size_t bytes) : room_(bytes), memory_(new std::uint64_t[bytes / 8]) { clear(0); }
  void clear(LV2_URID type) {
    get()->atom = {sizeof(LV2_Atom_Sequence_Body), type};
    get()->body = {0, 0};
  }
  LV2_Atom_Sequence* get() { return reinterpret_cast<LV2_Atom_Sequence*>(memory_.get()); }
  std::size_t room() const { return room_ - sizeof(LV2_Atom); }  // as atom.size has it
  std::size_t left() { return room() - get()->atom.size; }
  /// False, and nothing done, where it does not fit or `spare` bytes would not stay free.
  bool append(const LV2_Atom_Event& event, std::int64_t frames, std::size_t spare = 0) {
    const auto size = sizeOf(event);
    if (size + spare > left()) return false;
    auto* to = reinterpret_cast<std::uint8_t*>(&get()->body) + get()->atom.size;
    std::memcpy(to, &event, sizeof(LV2_Atom_Event) + event.body.size);
    reinterpret_cast<LV2_Atom_Event*>(to)->time.frames = frames;
    get()->atom.size += static_cast<std::uint32_t>(size);
    return true;
  }

 private:
  std::size_t room_;
  std::unique_ptr<std::uint64_t[]> memory_;
};

/// Goes through the whole events of a sequence; one that runs over the end, or backwards in time, ends it.
class Reader {
 public:
  Reader(const LV2_Atom_Sequence* sequence, const Urids& urids) {
    if (sequence == nullptr || sequence->atom.type != urids.sequence) return;
    if (sequence->atom.size < sizeof(LV2_Atom_Sequence_Body)) return;
    next_ = reinterpret_cast<const std::uint8_t*>(&sequence->body + 1);
    end_ = reinterpret_cast<const std::uint8_t*>(&sequence->body) + sequence->atom.size;
  }
  const LV2_Atom_Event* peek() const {
    const auto left = static_cast<std::size_t>(end_ - next_);
    if (left < sizeof(LV2_Atom_Event)) return nullptr;
    const auto* event = reinterpret_cast<const LV2_Atom_Event*>(next_);
    return event->body.size <= left - sizeof(LV2_Atom_Event) ? event : nullptr;
  }
  void skip() {
    const auto size = sizeOf(*peek());
    const auto left = static_cast<std::size_t>(end_ - next_);
    next_ += size < left ? size : left;
  }

 private:
  const std::uint8_t* next_ = nullptr;
  const std::uint8_t* end_ = nullptr;
};

/// What we keep of one instance.
struct Instance {
  Instance(const LV2_URID_Map& map, double rate) : urids(map) {
    lv2_atom_forge_init(&forge, const_cast<LV2_URID_Map*>(&map));
    time.prepare(rate);
    queue.clear(urids.sequence);
  }
  Urids urids;
  LV2_Atom_Forge forge{};
  Lv2Time time;
  Sequence in{inRoom}, out{outRoom}, queue{queueRoom};
  const LV2_Atom_Sequence* hostIn = nullptr;
  LV2_Atom_Sequence* hostOut = nullptr;
  std::array<float*, audioPorts> audio{};  // the host's
};

const LV2_Descriptor& wrapper() {
  static const LV2_Descriptor& descriptor = *juce_lv2_descriptor(0);
  return descriptor;
}

/// Who belongs to which handle. Written under a lock; read by the audio thread without one: a handle that is being run
/// has been in the table since before. More instances than rows: those beyond run without us.
class Table {
 public:
  bool add(LV2_Handle handle, Instance* instance) {
    const std::scoped_lock lock(mutex_);
    for (std::size_t i = 0; i < rows; ++i) {
      auto& row = table_[(hash(handle) + i) % rows];
      const auto there = row.handle.load(std::memory_order_relaxed);
      if (there != nullptr && there != gone()) continue;
      row.instance.store(instance, std::memory_order_relaxed);
      row.handle.store(handle, std::memory_order_release);
      return true;
    }
    return false;
  }
  Instance* find(LV2_Handle handle) const {
    const auto* row = rowOf(handle);
    return row != nullptr ? row->instance.load(std::memory_order_relaxed) : nullptr;
  }
  Instance* take(LV2_Handle handle) {
    const std::scoped_lock lock(mutex_);
    auto* row = const_cast<Row*>(rowOf(handle));
    if (row == nullptr) return nullptr;
    auto* instance = row->instance.load(std::memory_order_relaxed);
    row->handle.store(gone(), std::memory_order_release);
    // Rows at the end of a chain are empty again, so that a search for what is not there stays short.
    auto i = static_cast<std::size_t>(row - table_.data());
    if (table_[(i + 1) % rows].handle.load(std::memory_order_relaxed) != nullptr) return instance;
    for (; table_[i].handle.load(std::memory_order_relaxed) == gone(); i = (i + rows - 1) % rows)
      table_[i].handle.store(nullptr, std::memory_order_release);
    return instance;
  }

 private:
  static constexpr std::size_t rows = 1024;
  struct Row {
    std::atomic<LV2_Handle> handle{nullptr};
    std::atomic<Instance*> instance{nullptr};
  };
  LV2_Handle gone() const { return const_cast<std::mutex*>(&mutex_); }  // an address that no handle has
  static std::size_t hash(LV2_Handle handle) {
    return static_cast<std::size_t>((reinterpret_cast<std::uintptr_t>(handle) * 0x9E3779B97F4A7C15u) >> 40);
  }
  const Row* rowOf(LV2_Handle handle) const {
    for (std::size_t i = 0; i < rows; ++i) {
      const auto& row = table_[(hash(handle) + i) % rows];
      const auto there = row.handle.load(std::memory_order_acquire);
      if (there == handle) return &row;
      if (there == nullptr) return nullptr;
    }
    return nullptr;
  }
  std::array<Row, rows> table_;
  mutable std::mutex mutex_;
};

Table& table() {
  static constinit Table instances;
  return instances;
}

std::optional<double> number(const LV2_Atom* atom, const Urids& urids) {
  if (atom == nullptr) return {};
  const auto read = [atom](auto like) -> std::optional<double> {
    if (atom->size < sizeof like) return {};
    std::memcpy(&like, atom + 1, sizeof like);
    return static_cast<double>(like);
  };
  if (atom->type == urids.integer || atom->type == urids.boolean) return read(std::int32_t{});
  if (atom->type == urids.longInteger) return read(std::int64_t{});
  if (atom->type == urids.floating) return read(float{});
  if (atom->type == urids.doubleFloating) return read(double{});
  return {};
}

bool isObject(const LV2_Atom_Event& event, const Urids& urids) {
  return event.body.type == urids.object || event.body.type == urids.blank;
}

/// Calls see(key, value) for each property of an object; false where one runs over its end.
template <class See>
bool goThrough(const LV2_Atom_Event& event, See see) {
  const std::size_t size = event.body.size;
  const auto* body = reinterpret_cast<const std::uint8_t*>(&event.body + 1);
  std::size_t at = sizeof(LV2_Atom_Object_Body);
  if (size < at) return false;
  while (at < size) {
    if (size - at < sizeof(LV2_Atom_Property_Body)) return false;
    const auto* property = reinterpret_cast<const LV2_Atom_Property_Body*>(body + at);
    at += sizeof(LV2_Atom_Property_Body);
    if (property->value.size > size - at) return false;
    see(property->key, property->value);
    at += (std::size_t{property->value.size} + 7u) & ~std::size_t{7u};
  }
  return true;
}

/// Whether the wrapper can read it without running over its end.
bool whole(const LV2_Atom_Event& event, const Urids& urids) {
  return !isObject(event, urids) || goThrough(event, [](LV2_URID, const LV2_Atom&) {});
}

bool isPosition(const LV2_Atom_Event& event, const Urids& urids) {
  if (!isObject(event, urids) || event.body.size < sizeof(LV2_Atom_Object_Body)) return false;
  return reinterpret_cast<const LV2_Atom_Object_Body*>(&event.body + 1)->otype == urids.position;
}

Lv2Position positionIn(const LV2_Atom_Event& event, const Urids& urids) {
  Lv2Position p;
  goThrough(event, [&](LV2_URID key, const LV2_Atom& atom) {
    const auto value = number(&atom, urids);
    if (key == urids.bar) p.bar = value;
    if (key == urids.barBeat) p.barBeat = value;
    if (key == urids.beat) p.beat = value;
    if (key == urids.beatUnit) p.beatUnit = value;
    if (key == urids.beatsPerBar) p.beatsPerBar = value;
    if (key == urids.beatsPerMinute) p.beatsPerMinute = value;
    if (key == urids.frame) p.frame = value;
    if (key == urids.speed) p.speed = value;
    p.ownKeys = p.ownKeys || !urids.isOfPosition(key);
  });
  return p;
}

/// A Position as the wrapper reads it: every type exactly so. Reverse is no playing; another speed is another tempo.
void beginWithPlace(Instance& instance) {
  instance.in.clear(instance.urids.sequence);
  const auto place = instance.time.now();
  if (!place) return;
  const auto& u = instance.urids;
  auto* forge = &instance.forge;
  LV2_Atom_Forge_Frame sequence, object;
  lv2_atom_forge_set_buffer(forge, reinterpret_cast<std::uint8_t*>(instance.in.get()), inRoom);
  lv2_atom_forge_sequence_head(forge, &sequence, 0);
  lv2_atom_forge_frame_time(forge, 0);
  lv2_atom_forge_object(forge, &object, 0, u.position);
  lv2_atom_forge_key(forge, u.frame);
  lv2_atom_forge_long(forge, place->frame);
  lv2_atom_forge_key(forge, u.speed);
  lv2_atom_forge_float(forge, place->speed > 0 ? 1.0f : 0.0f);
  if (place->quarters) {
    lv2_atom_forge_key(forge, u.beat);
    lv2_atom_forge_double(forge, *place->quarters);
  }
  if (place->quartersPerMinute) {
    const double speed = place->speed > 0 ? place->speed : 1;
    lv2_atom_forge_key(forge, u.beatsPerMinute);
    lv2_atom_forge_float(forge, static_cast<float>(*place->quartersPerMinute * speed));
  }
  if (place->meterKnown) {
    lv2_atom_forge_key(forge, u.beatsPerBar);
    lv2_atom_forge_float(forge, place->beatsPerBar);
    lv2_atom_forge_key(forge, u.beatUnit);
    lv2_atom_forge_int(forge, place->beatUnit);
  }
  if (place->bar) {
    lv2_atom_forge_key(forge, u.bar);
    lv2_atom_forge_long(forge, *place->bar);
  }
  lv2_atom_forge_pop(forge, &object);
  lv2_atom_forge_pop(forge, &sequence);
}

bool closesNotes(const LV2_Atom_Event& event, const Urids& urids) {
  if (event.body.type != urids.midi || event.body.size < 3) return false;
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(&event.body + 1);
  const auto kind = bytes[0] & 0xF0;
  return kind == 0x80 || (kind == 0x90 && bytes[2] == 0) || (kind == 0xB0 && (bytes[1] == 120 || bytes[1] == 123));
}

/// The host's output port while a block runs. Its room is as the host has set it; some count the header in, some do
/// not: we do.
class Outlet {
 public:
  Outlet(LV2_Atom_Sequence* port, const Urids& urids) : port_(port) {
    if (port_ == nullptr || port_->atom.size < sizeof(LV2_Atom_Sequence)) return;
    room_ = port_->atom.size - sizeof(LV2_Atom);
    port_->atom = {sizeof(LV2_Atom_Sequence_Body), urids.sequence};
    port_->body = {0, 0};
  }
  bool append(const LV2_Atom_Event& event, std::int64_t frames) {
    const auto size = sizeOf(event);
    if (room_ == 0 || size > room_ - port_->atom.size) return false;
    auto* to = reinterpret_cast<std::uint8_t*>(&port_->body) + port_->atom.size;
    std::memcpy(to, &event, sizeof(LV2_Atom_Event) + event.body.size);
    reinterpret_cast<LV2_Atom_Event*>(to)->time.frames = frames;
    port_->atom.size += static_cast<std::uint32_t>(size);
    return true;
  }

  /// Even empty: what waited for it would wait for ever, and all else behind it.
  bool tooSmallFor(const LV2_Atom_Event& event) const {
    return room_ > 0 && sizeOf(event) > room_ - sizeof(LV2_Atom_Sequence_Body);
  }

 private:
  LV2_Atom_Sequence* port_;
  std::size_t room_ = 0;
};

/// What waits from earlier blocks goes first, at the block's first sample; what still finds no room waits on.
void deliverQueue(Instance& instance, Outlet& outlet) {
  auto* queue = instance.queue.get();
  const auto waiting = queue->atom.size - sizeof(LV2_Atom_Sequence_Body);
  if (waiting == 0) return;
  std::size_t gone = 0;
  for (Reader reader(queue, instance.urids); const auto* event = reader.peek(); reader.skip()) {
    if (!outlet.append(*event, 0) && !outlet.tooSmallFor(*event)) break;
    gone += sizeOf(*event);
  }
  auto* events = reinterpret_cast<std::uint8_t*>(&queue->body + 1);
  std::memmove(events, events + gone, waiting - gone);
  queue->atom.size = static_cast<std::uint32_t>(sizeof(LV2_Atom_Sequence_Body) + waiting - gone);
}

/// One piece through the wrapper; what comes out goes to the host, or behind what waits already.
void runPiece(Instance& instance, LV2_Handle handle, Outlet& outlet, std::int64_t from, std::int64_t until) {
  instance.out.get()->atom = {static_cast<std::uint32_t>(instance.out.room()), 0};  // an empty output port: its room
  wrapper().connect_port(handle, inPort, instance.in.get());
  wrapper().connect_port(handle, outPort, instance.out.get());
  for (std::size_t i = 0; i < instance.audio.size(); ++i)  // each piece into its own stretch of the host's sound
    wrapper().connect_port(handle, static_cast<std::uint32_t>(i),
                           instance.audio[i] != nullptr ? instance.audio[i] + from : nullptr);
  wrapper().run(handle, static_cast<std::uint32_t>(until - from));
  for (Reader made(instance.out.get(), instance.urids); const auto* event = made.peek(); made.skip()) {
    const bool waits = instance.queue.get()->atom.size > sizeof(LV2_Atom_Sequence_Body);
    if (!waits && outlet.append(*event, from + event->time.frames)) continue;
    instance.queue.append(*event, 0, closesNotes(*event, instance.urids) ? 0 : noteOffRoom);
  }
  instance.time.advance(until - from);
}

LV2_Handle instantiate(const LV2_Descriptor*, double rate, const char* path, const LV2_Feature* const* features) {
  const auto handle = wrapper().instantiate(&wrapper(), rate, path, features);
  if (handle == nullptr) return nullptr;
  for (const auto* const* feature = features; feature != nullptr && *feature != nullptr; ++feature) {
    if (std::strcmp((*feature)->URI, LV2_URID__map) != 0) continue;
    auto instance = std::make_unique<Instance>(*static_cast<const LV2_URID_Map*>((*feature)->data), rate);
    if (table().add(handle, instance.get())) static_cast<void>(instance.release());  // owned by the table until cleanup
  }
  return handle;
}

void connectPort(LV2_Handle handle, std::uint32_t port, void* data) {
  auto* instance = table().find(handle);
  if (instance != nullptr && port == inPort) {
    instance->hostIn = static_cast<const LV2_Atom_Sequence*>(data);
  } else if (instance != nullptr && port == outPort) {
    instance->hostOut = static_cast<LV2_Atom_Sequence*>(data);
  } else if (instance != nullptr && std::cmp_less(port, instance->audio.size())) {
    instance->audio[port] = static_cast<float*>(data);
  } else {
    wrapper().connect_port(handle, port, data);
  }
}

/// Where in the block an event is taken: one outside it, or before the one before it, at the nearest sample that can
/// be.
std::int64_t placeOf(const LV2_Atom_Event& event, std::int64_t from, std::int64_t length) {
  const auto last = length > 0 ? length - 1 : 0;
  return event.time.frames < from ? from : event.time.frames > last ? last : event.time.frames;
}

/// Hears what the host says of the sample `from`, and returns where it says more: there this piece ends.
std::int64_t hearTime(Instance& instance, Reader& ahead, std::int64_t from, std::int64_t length) {
  for (; const auto* event = ahead.peek(); ahead.skip()) {
    if (!isPosition(*event, instance.urids)) continue;
    const auto at = placeOf(*event, from, length);
    if (at > from) return at;
    instance.time.hear(positionIn(*event, instance.urids));
  }
  return length;
}

void run(LV2_Handle handle, std::uint32_t samples) {
  auto* found = table().find(handle);
  if (found == nullptr) return wrapper().run(handle, samples);
  auto& instance = *found;
  const auto length = static_cast<std::int64_t>(samples);
  Outlet outlet(instance.hostOut, instance.urids);
  deliverQueue(instance, outlet);

  Reader came(instance.hostIn, instance.urids), ahead = came;
  std::int64_t from = 0, until = hearTime(instance, ahead, from, length);
  beginWithPlace(instance);
  const auto pieceUntil = [&](std::int64_t at) {
    runPiece(instance, handle, outlet, from, at);
    from = at;
    until = hearTime(instance, ahead, from, length);
    beginWithPlace(instance);
  };
  // Where the newest sample's events begin, among those that came and in our buffer: a piece may end there.
  Reader sampleCame = came;
  auto sampleSize = instance.in.get()->atom.size;
  std::int64_t sample = 0;
  while (const auto* event = came.peek()) {
    while (until < length && placeOf(*event, from, length) >= until) pieceUntil(until);
    const auto at = placeOf(*event, from, length);
    if (at != sample || at == from) {
      sample = at;
      sampleCame = came;
      sampleSize = instance.in.get()->atom.size;
    }
    const bool ours = !isPosition(*event, instance.urids) && whole(*event, instance.urids) &&
                      sizeOf(*event) <= inRoom / 2;  // longer than any buffer of ours: the one thing that is lost
    if (!ours || instance.in.append(*event, at - from)) {
      came.skip();
      continue;
    }
    came = sampleCame;
    instance.in.get()->atom.size = sampleSize;
    pieceUntil(at);
  }
  runPiece(instance, handle, outlet, from, length);
}

void cleanup(LV2_Handle handle) {
  const std::unique_ptr<Instance> instance(table().take(handle));
  wrapper().cleanup(handle);
}

}  // namespace

}  // namespace seguente

extern "C" __attribute__((visibility("default"))) const LV2_Descriptor* lv2_descriptor(std::uint32_t index) {
  if (index != 0) return nullptr;
  static const LV2_Descriptor descriptor = [] {
    auto d = seguente::wrapper();
    d.instantiate = seguente::instantiate;
    d.connect_port = seguente::connectPort;
    d.run = seguente::run;
    d.cleanup = seguente::cleanup;
    return d;
  }();
  return &descriptor;
}
