#include "tests/host/plain_lv2.h"

#include <dlfcn.h>
#include <lv2/atom/forge.h>
#include <lv2/atom/util.h>
#include <lv2/buf-size/buf-size.h>
#include <lv2/core/lv2.h>
#include <lv2/midi/midi.h>
#include <lv2/options/options.h>
#include <lv2/patch/patch.h>
#include <lv2/state/state.h>
#include <lv2/time/time.h>
#include <lv2/urid/urid.h>

#include <array>
#include <cstring>
#include <map>
#include <stdexcept>

namespace seguente::host {

namespace {

constexpr std::uint32_t inputBytes = 1u << 16;

#ifndef SEGUENTE_LV2_AUDIO_OUTPUTS  // of the plugin that this harness is compiled for
#define SEGUENTE_LV2_AUDIO_OUTPUTS 0
#endif
constexpr std::uint32_t audioOutputs = SEGUENTE_LV2_AUDIO_OUTPUTS;
enum Port : std::uint32_t { notesIn = audioOutputs, notesOut, latencyOut, freeWheelingIn, enabledIn };

/// One list of names for all instances, as hosts have it.
LV2_URID urid(const char* uri) {
  static std::map<std::string, LV2_URID> names;
  const auto next = static_cast<LV2_URID>(names.size() + 1);
  return names.emplace(uri, next).first->second;
}
LV2_URID map(LV2_URID_Map_Handle, const char* uri) { return urid(uri); }

const LV2_Descriptor& descriptor() {
  static const LV2_Descriptor* found = [] {
    void* library = dlopen(SEGUENTE_LV2_LIBRARY, RTLD_NOW | RTLD_LOCAL);
    if (library == nullptr) throw std::runtime_error(dlerror());
    const auto get = reinterpret_cast<LV2_Descriptor_Function>(dlsym(library, "lv2_descriptor"));
    return get(0);
  }();
  return *found;
}

}  // namespace

struct PlainLv2::Body {
  LV2_URID_Map mapping{nullptr, map};
  std::int32_t largest = 0;
  LV2_Handle handle = nullptr;
  LV2_Atom_Forge forge{};
  LV2_Atom_Forge_Frame sequence{};
  alignas(8) std::uint8_t in[inputBytes]{};
  std::vector<std::uint64_t> out;
  std::array<std::vector<float>, audioOutputs> audio;

  void begin() {
    lv2_atom_forge_set_buffer(&forge, in, sizeof in);
    lv2_atom_forge_sequence_head(&forge, &sequence, 0);
  }
  std::string stored;
};

PlainLv2::PlainLv2(double rate, std::int32_t largest, std::uint32_t outputBytes) : body_(std::make_unique<Body>()) {
  auto& b = *body_;
  b.largest = largest;
  b.out.resize(outputBytes / 8);
  const LV2_Options_Option options[] = {{LV2_OPTIONS_INSTANCE, 0, urid(LV2_BUF_SIZE__maxBlockLength),
                                         sizeof(std::int32_t), urid(LV2_ATOM__Int), &b.largest},
                                        {LV2_OPTIONS_INSTANCE, 0, 0, 0, 0, nullptr}};
  const LV2_Feature mapFeature{LV2_URID__map, &b.mapping};
  const LV2_Feature optionsFeature{LV2_OPTIONS__options, const_cast<LV2_Options_Option*>(options)};
  const LV2_Feature bounded{LV2_BUF_SIZE__boundedBlockLength, nullptr};
  const LV2_Feature* const features[] = {&mapFeature, &optionsFeature, &bounded, nullptr};
  b.handle = descriptor().instantiate(&descriptor(), rate, SEGUENTE_LV2_FOLDER "/" SEGUENTE_LV2_NAME "/", features);
  if (b.handle == nullptr) throw std::runtime_error("the LV2 could not be instantiated");
  lv2_atom_forge_init(&b.forge, &b.mapping);
  b.begin();
  const auto connect = [&](Port port, void* data) { descriptor().connect_port(b.handle, port, data); };
  for (std::uint32_t i = 0; i < audioOutputs; ++i) {
    b.audio[i].resize(static_cast<std::size_t>(largest));
    connect(static_cast<Port>(i), b.audio[i].data());
  }
  connect(notesIn, b.in);
  connect(notesOut, b.out.data());
  connect(latencyOut, &latency_);
  connect(freeWheelingIn, &freeWheeling_);
  connect(enabledIn, &enabled_);
  if (descriptor().activate != nullptr) descriptor().activate(b.handle);
}

PlainLv2::~PlainLv2() {
  if (descriptor().deactivate != nullptr) descriptor().deactivate(body_->handle);
  descriptor().cleanup(body_->handle);
}

void PlainLv2::position(const SaidPosition& said) {
  auto* f = &body_->forge;
  lv2_atom_forge_frame_time(f, said.offset);
  LV2_Atom_Forge_Frame object;
  lv2_atom_forge_object(f, &object, 0, urid(LV2_TIME__Position));
  const auto key = [f](const char* uri) { lv2_atom_forge_key(f, urid(uri)); };
  const auto number = [&](const char* uri, const std::optional<float>& value) {
    if (!value) return;
    key(uri);
    lv2_atom_forge_float(f, *value);
  };
  const auto count = [&](const char* uri, const std::optional<std::int64_t>& value) {
    if (!value) return;
    key(uri);
    lv2_atom_forge_long(f, *value);
  };
  count(LV2_TIME__frame, said.frame);
  number(LV2_TIME__speed, said.speed);
  count(LV2_TIME__bar, said.bar);
  number(LV2_TIME__barBeat, said.barBeat);
  if (said.beat) {
    key(LV2_TIME__beat);
    lv2_atom_forge_double(f, *said.beat);
  }
  if (said.beatUnit) {
    key(LV2_TIME__beatUnit);
    lv2_atom_forge_int(f, *said.beatUnit);
  }
  number(LV2_TIME__beatsPerBar, said.beatsPerBar);
  number(LV2_TIME__beatsPerMinute, said.beatsPerMinute);
  lv2_atom_forge_pop(f, &object);
}

void PlainLv2::midi(std::int64_t offset, const std::vector<std::uint8_t>& bytes) {
  auto* f = &body_->forge;
  lv2_atom_forge_frame_time(f, offset);
  lv2_atom_forge_atom(f, static_cast<std::uint32_t>(bytes.size()), urid(LV2_MIDI__MidiEvent));
  lv2_atom_forge_write(f, bytes.data(), static_cast<std::uint32_t>(bytes.size()));
}

void PlainLv2::set(const std::string& id, float plain) {
  auto* f = &body_->forge;
  lv2_atom_forge_frame_time(f, 0);
  LV2_Atom_Forge_Frame object;
  lv2_atom_forge_object(f, &object, 0, urid(LV2_PATCH__Set));
  lv2_atom_forge_key(f, urid(LV2_PATCH__property));
  lv2_atom_forge_urid(f, urid((SEGUENTE_LV2_URI ":" + id).c_str()));
  lv2_atom_forge_key(f, urid(LV2_PATCH__value));
  lv2_atom_forge_float(f, plain);
  lv2_atom_forge_pop(f, &object);
}

void PlainLv2::run(std::int64_t samples) {
  auto& b = *body_;
  lv2_atom_forge_pop(&b.forge, &b.sequence);
  auto* out = reinterpret_cast<LV2_Atom_Sequence*>(b.out.data());
  out->atom.type = urid(LV2_ATOM__Chunk);
  out->atom.size = static_cast<std::uint32_t>(b.out.size() * 8 - sizeof(LV2_Atom));
  descriptor().run(b.handle, static_cast<std::uint32_t>(samples));
  LV2_ATOM_SEQUENCE_FOREACH(out, event)
  if (event->body.type == urid(LV2_MIDI__MidiEvent)) {
    const auto* bytes = static_cast<const std::uint8_t*>(LV2_ATOM_BODY_CONST(&event->body));
    heard_.push_back({now_ + event->time.frames, {bytes, bytes + event->body.size}});
  }
  for (const auto& channel : b.audio) sound_.insert(sound_.end(), channel.begin(), channel.begin() + samples);
  now_ += samples;
  b.begin();
}

namespace {

const LV2_State_Interface& stateOf() {
  return *static_cast<const LV2_State_Interface*>(descriptor().extension_data(LV2_STATE__interface));
}

LV2_State_Status store(LV2_State_Handle into, std::uint32_t, const void* value, std::size_t size, std::uint32_t,
                       std::uint32_t) {
  static_cast<std::string*>(into)->assign(static_cast<const char*>(value), size);
  return LV2_STATE_SUCCESS;
}

const void* retrieve(LV2_State_Handle from, std::uint32_t key, std::size_t* size, std::uint32_t* type,
                     std::uint32_t* flags) {
  const auto& text = *static_cast<std::string*>(from);
  if (key != urid(SEGUENTE_LV2_URI ":StateString")) return nullptr;
  *size = text.size();
  *type = urid(LV2_ATOM__String);
  *flags = LV2_STATE_IS_POD;
  return text.data();
}

}  // namespace

std::string PlainLv2::state() {
  body_->stored.clear();
  stateOf().save(body_->handle, store, &body_->stored, 0, nullptr);
  return body_->stored;
}

bool PlainLv2::restore(const std::string& text) {
  body_->stored = text;
  return stateOf().restore(body_->handle, retrieve, &body_->stored, 0, nullptr) == LV2_STATE_SUCCESS;
}

}  // namespace seguente::host
