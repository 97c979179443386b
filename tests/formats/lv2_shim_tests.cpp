// The shim between an LV2 host and the wrapper, with a wrapper of our own behind it that writes down what it is given
// and gives every MIDI message back. Rules of atoms, sequences and ports: the LV2 atom specification.
#include <lv2/atom/forge.h>
#include <lv2/atom/util.h>
#include <lv2/core/lv2.h>
#include <lv2/midi/midi.h>
#include <lv2/patch/patch.h>
#include <lv2/time/time.h>
#include <lv2/urid/urid.h>

#include <cstring>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "tests/catch.h"
#include "tests/guard/audio_thread.h"
#include "tests/support/random.h"

namespace {

LV2_URID mapUri(LV2_URID_Map_Handle, const char* uri) {
  static std::map<std::string, LV2_URID> known;
  return known.emplace(uri, static_cast<LV2_URID>(known.size() + 1)).first->second;
}
LV2_URID urid(const char* uri) { return mapUri(nullptr, uri); }
LV2_URID_Map uridMap{nullptr, mapUri};

using Bytes = std::vector<std::uint8_t>;

struct Heard {
  std::int64_t frames = 0;
  LV2_URID type = 0;
  Bytes bytes;
};

/// One call of the wrapper's run.
struct Piece {
  std::uint32_t samples = 0;
  std::map<std::string, double> position;  // of the time:Position at its first sample
  std::vector<Heard> events;               // all else
};

double numberOf(const LV2_Atom* a) {
  const auto as = [a](auto v) {
    std::memcpy(&v, a + 1, sizeof v);
    return static_cast<double>(v);
  };
  if (a->type == urid(LV2_ATOM__Int)) return as(std::int32_t{});
  if (a->type == urid(LV2_ATOM__Long)) return as(std::int64_t{});
  if (a->type == urid(LV2_ATOM__Float)) return as(float{});
  return as(double{});
}

const LV2_URID midiUrid = urid(LV2_MIDI__MidiEvent), sequenceUrid = urid(LV2_ATOM__Sequence);

struct Wrapper {
  const LV2_Atom_Sequence* in = nullptr;
  LV2_Atom_Sequence* out = nullptr;
  std::vector<Piece> pieces;
  bool record = true;
  int outside = 0;  // events that are not within the samples of their piece

  void run(std::uint32_t samples) {
    Piece piece;
    piece.samples = samples;
    const auto room = out->atom.size;
    lv2_atom_sequence_clear(out);
    out->atom.type = sequenceUrid;
    LV2_ATOM_SEQUENCE_FOREACH(in, event) {
      const auto* object = reinterpret_cast<const LV2_Atom_Object*>(&event->body);
      if (event->time.frames < 0 || (event->time.frames > 0 && event->time.frames >= samples)) ++outside;
      if (event->body.type == midiUrid) lv2_atom_sequence_append_event(out, room, event);
      if (!record) continue;
      if (event->body.type == urid(LV2_ATOM__Object) && object->body.otype == urid(LV2_TIME__Position)) {
        CHECK(event->time.frames == 0);
        CHECK(piece.position.empty());
        LV2_ATOM_OBJECT_FOREACH(object, property) {
          for (const auto* key : {LV2_TIME__frame, LV2_TIME__speed, LV2_TIME__beat, LV2_TIME__beatsPerMinute,
                                  LV2_TIME__beatsPerBar, LV2_TIME__beatUnit, LV2_TIME__bar})
            if (property->key == urid(key)) piece.position[key] = numberOf(&property->value);
        }
      } else {
        const auto* bytes = reinterpret_cast<const std::uint8_t*>(&event->body + 1);
        piece.events.push_back({event->time.frames, event->body.type, {bytes, bytes + event->body.size}});
      }
    }
    if (record) pieces.push_back(piece);
  }
};

}  // namespace

extern "C" const LV2_Descriptor* lv2_descriptor(std::uint32_t index);

extern "C" const LV2_Descriptor* juce_lv2_descriptor(std::uint32_t) {
  static const LV2_Descriptor descriptor{
      "urn:test",
      [](const LV2_Descriptor*, double, const char*, const LV2_Feature* const*) -> LV2_Handle { return new Wrapper; },
      [](LV2_Handle h, std::uint32_t port, void* data) {
        auto* w = static_cast<Wrapper*>(h);
        if (port == 0) w->in = static_cast<const LV2_Atom_Sequence*>(data);
        if (port == 1) w->out = static_cast<LV2_Atom_Sequence*>(data);
      },
      nullptr,
      [](LV2_Handle h, std::uint32_t samples) { static_cast<Wrapper*>(h)->run(samples); },
      nullptr,
      [](LV2_Handle h) { delete static_cast<Wrapper*>(h); },
      nullptr};
  return &descriptor;
}

namespace {

/// An LV2 host with one instance.
struct Host {
  explicit Host(std::size_t inBytes = 65536, std::size_t outBytes = 65536)
      : in(inBytes / 8), out(outBytes / 8), outRoom(static_cast<std::uint32_t>(outBytes) - 8) {
    const LV2_Feature map{LV2_URID__map, &uridMap};
    const LV2_Feature* features[] = {&map, nullptr};
    handle = plugin->instantiate(plugin, 48000, "", features);
    plugin->connect_port(handle, 0, in.data());
    plugin->connect_port(handle, 1, out.data());
    lv2_atom_forge_init(&forge, &uridMap);
    begin();
  }
  ~Host() { plugin->cleanup(handle); }
  Host(const Host&) = delete;
  Host& operator=(const Host&) = delete;

  void begin() {
    lv2_atom_forge_set_buffer(&forge, reinterpret_cast<std::uint8_t*>(in.data()), in.size() * 8);
    lv2_atom_forge_sequence_head(&forge, &sequence, 0);
  }
  void midi(std::int64_t frames, const Bytes& bytes) {
    REQUIRE(lv2_atom_forge_frame_time(&forge, frames));
    lv2_atom_forge_atom(&forge, static_cast<std::uint32_t>(bytes.size()), urid(LV2_MIDI__MidiEvent));
    REQUIRE(lv2_atom_forge_write(&forge, bytes.data(), static_cast<std::uint32_t>(bytes.size())));
  }
  /// Bar and place in it, as most hosts say it.
  void position(std::int64_t frames, std::int64_t frame, float speed, std::int64_t bar, float barBeat, float bpm,
                float perBar = 4, int unit = 4, const char* ownKey = nullptr) {
    LV2_Atom_Forge_Frame object;
    lv2_atom_forge_frame_time(&forge, frames);
    lv2_atom_forge_object(&forge, &object, 0, urid(LV2_TIME__Position));
    lv2_atom_forge_key(&forge, urid(LV2_TIME__frame));
    lv2_atom_forge_long(&forge, frame);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__speed));
    lv2_atom_forge_float(&forge, speed);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__barBeat));
    lv2_atom_forge_float(&forge, barBeat);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__bar));
    lv2_atom_forge_long(&forge, bar);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__beatUnit));
    lv2_atom_forge_int(&forge, unit);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__beatsPerBar));
    lv2_atom_forge_float(&forge, perBar);
    lv2_atom_forge_key(&forge, urid(LV2_TIME__beatsPerMinute));
    lv2_atom_forge_float(&forge, bpm);
    if (ownKey != nullptr) {
      lv2_atom_forge_key(&forge, urid(ownKey));
      lv2_atom_forge_float(&forge, 1);
    }
    lv2_atom_forge_pop(&forge, &object);
  }
  void run(std::uint32_t samples) {
    lv2_atom_forge_pop(&forge, &sequence);
    runAsItIs(samples);
    begin();
  }
  void runAsItIs(std::uint32_t samples) {
    auto* port = reinterpret_cast<LV2_Atom_Sequence*>(out.data());
    port->atom = {outRoom, urid(LV2_ATOM__Chunk)};
    wrapper().pieces.clear();
    plugin->run(handle, samples);
    came.clear();
    LV2_ATOM_SEQUENCE_FOREACH(port, event) {
      const auto* bytes = reinterpret_cast<const std::uint8_t*>(&event->body + 1);
      came.push_back({event->time.frames, event->body.type, {bytes, bytes + event->body.size}});
    }
  }
  Wrapper& wrapper() { return *static_cast<Wrapper*>(handle); }

  const LV2_Descriptor* plugin = lv2_descriptor(0);
  LV2_Handle handle = nullptr;
  std::vector<std::uint64_t> in, out;
  std::uint32_t outRoom;
  LV2_Atom_Forge forge{};
  LV2_Atom_Forge_Frame sequence{};
  std::vector<Heard> came;
};

}  // namespace

TEST_CASE("there is one plugin in the bundle", "[lv2_shim]") {
  CHECK(lv2_descriptor(0) != nullptr);
  CHECK(lv2_descriptor(0) == lv2_descriptor(0));
  CHECK(lv2_descriptor(1) == nullptr);
}

TEST_CASE("what is no word on time passes unchanged, in order, at its sample", "[lv2_shim]") {
  Host host;
  host.midi(0, {0x90, 60, 80});
  LV2_Atom_Forge_Frame object;
  lv2_atom_forge_frame_time(&host.forge, 5);
  lv2_atom_forge_object(&host.forge, &object, 0, urid(LV2_PATCH__Set));
  lv2_atom_forge_key(&host.forge, urid(LV2_PATCH__value));
  lv2_atom_forge_float(&host.forge, 0.5f);
  lv2_atom_forge_pop(&host.forge, &object);
  host.midi(5, {0xF0, 1, 2, 3, 4, 5, 6, 7, 0xF7});
  host.midi(255, {0x80, 60, 0});
  host.run(256);
  REQUIRE(host.wrapper().pieces.size() == 1);
  const auto& piece = host.wrapper().pieces[0];
  CHECK(piece.samples == 256);
  CHECK(piece.position.empty());  // the host has said nothing of time
  REQUIRE(piece.events.size() == 4);
  CHECK(piece.events[1].type == urid(LV2_ATOM__Object));
  CHECK(piece.events[1].frames == 5);
  CHECK(piece.events[2].bytes == Bytes{0xF0, 1, 2, 3, 4, 5, 6, 7, 0xF7});
  REQUIRE(host.came.size() == 3);
  CHECK(host.came[0].bytes == Bytes{0x90, 60, 80});
  CHECK(host.came[1].bytes.size() == 9);
  CHECK(host.came[2].frames == 255);
}

TEST_CASE("after one word every block begins with a whole place", "[lv2_shim]") {
  Host host;
  host.position(0, 96000, 1, 1, 0, 120);
  for (int block = 0; block < 10; ++block) {
    host.run(240);
    REQUIRE(host.wrapper().pieces.size() == 1);
    auto position = host.wrapper().pieces[0].position;
    CHECK(position[LV2_TIME__frame] == 96000 + block * 240);
    CHECK(position[LV2_TIME__speed] == 1);
    CHECK(position[LV2_TIME__beat] == Approx(4 + block * 0.01));
    CHECK(position[LV2_TIME__beatsPerMinute] == 120);
    CHECK(position[LV2_TIME__beatsPerBar] == 4);
    CHECK(position[LV2_TIME__beatUnit] == 4);
    CHECK(position[LV2_TIME__bar] == 1);
  }
  host.position(0, 98400, 0, 1, 0.1f, 120);
  host.run(240);
  host.run(240);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__speed] == 0);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__frame] == 98400);
}

TEST_CASE("what the host says inside a block is so from that very sample", "[lv2_shim]") {
  Host host;
  host.position(0, 0, 1, 0, 0, 120);
  host.midi(50, {0x90, 48, 80});
  host.midi(100, {0x90, 50, 80});  // at the sample of the word: belongs to what begins there
  host.position(100, 100, 1, 0, static_cast<float>(100 / 24000.0), 60);
  host.midi(150, {0x90, 52, 80});
  host.run(256);
  auto& pieces = host.wrapper().pieces;
  REQUIRE(pieces.size() == 2);
  CHECK(pieces[0].samples == 100);
  CHECK(pieces[1].samples == 156);
  CHECK(pieces[0].position[LV2_TIME__beatsPerMinute] == 120);
  CHECK(pieces[1].position[LV2_TIME__beatsPerMinute] == 60);
  CHECK(pieces[1].position[LV2_TIME__beat] == Approx(100 / 24000.0));
  REQUIRE(pieces[1].events.size() == 2);
  CHECK(pieces[1].events[0].frames == 0);
  CHECK(pieces[1].events[1].frames == 50);
  REQUIRE(host.came.size() == 3);
  CHECK(host.came[0].frames == 50);
  CHECK(host.came[1].frames == 100);
  CHECK(host.came[2].frames == 150);
}

TEST_CASE("a word on time after a note of the same sample makes no piece of nothing", "[lv2_shim]") {
  Host host;
  host.midi(0, {0x90, 48, 80});
  host.position(0, 0, 1, 2, 0, 120);
  host.run(256);
  REQUIRE(host.wrapper().pieces.size() == 1);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__beat] == 8);
  CHECK(host.came.size() == 1);
}

TEST_CASE("a key that no specification has tells a host that mixes beats and quarters", "[lv2_shim]") {
  for (const char* key : {static_cast<const char*>(nullptr), LV2_TIME__framesPerSecond, "urn:test:scale"}) {
    Host host;
    host.position(0, 0, 1, 1, 2.25f, 90, 6, 8, key);
    host.run(256);
    auto position = host.wrapper().pieces[0].position;
    const bool mixes = key != nullptr && std::string(key) == "urn:test:scale";
    CHECK(position[LV2_TIME__beat] == Approx(mixes ? 3 + 1.25 : 3 + 1.125));
    CHECK(position[LV2_TIME__beatsPerMinute] == Approx(mixes ? 90 : 45));
  }
}

TEST_CASE("reverse is no playing, and another speed is another tempo", "[lv2_shim]") {
  Host host;
  host.position(0, 48000, -1, 0, 2, 120);
  host.run(256);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__speed] == 0);
  host.position(0, 48000, 0.5f, 0, 2, 120);
  host.run(256);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__speed] == 1);
  CHECK(host.wrapper().pieces[0].position[LV2_TIME__beatsPerMinute] == 60);
}

TEST_CASE("more events than any buffer holds: not one is lost, not one leaves its sample", "[lv2_shim]") {
  const int count = 40000;
  Host host(2000000, 2000000);
  host.position(0, 0, 1, 0, 0, 120);
  for (int i = 0; i < count; ++i)
    host.midi(i < count / 2 ? 7 : 99, {0x80, static_cast<std::uint8_t>(i % 128), static_cast<std::uint8_t>(i % 127)});
  host.run(128);
  REQUIRE(host.came.size() == static_cast<std::size_t>(count));
  int right = 0;
  for (int i = 0; i < count; ++i) {
    const auto& heard = host.came[static_cast<std::size_t>(i)];
    right += heard.bytes[1] == i % 128 && heard.bytes[2] == i % 127 && heard.frames == (i < count / 2 ? 7 : 99);
  }
  CHECK(right == count);
  CHECK(host.wrapper().pieces.size() > 5);
  CHECK(host.wrapper().outside == 0);
}

TEST_CASE("what the host has no room for waits and goes first, note-offs last of all are given up", "[lv2_shim]") {
  Host host(65536, 1024);
  for (int i = 0; i < 100; ++i) host.midi(i, {0x80, static_cast<std::uint8_t>(i), 0});
  std::vector<Heard> all;
  host.run(128);
  all = host.came;
  CHECK(all.size() < 100);
  const auto first = all.size();
  host.midi(3, {0x90, 100, 1});
  for (int block = 0; block < 5; ++block) {
    host.run(128);
    all.insert(all.end(), host.came.begin(), host.came.end());
  }
  REQUIRE(all.size() == 101);
  for (std::size_t i = 0; i < 101; ++i) CHECK(all[i].bytes[1] == i);
  CHECK(all[first].frames == 0);  // late, so at once
  CHECK(all[100].frames == 0);
}

TEST_CASE("nothing overtakes what waits, and what no port of the host's can take holds nothing up", "[lv2_shim]") {
  Host host(65536, 128);
  const Bytes fitsAlone(70, 0xF0), fitsNever(200, 0xF1);
  host.midi(0, {0x90, 1, 1});
  host.midi(1, fitsAlone);
  host.midi(2, {0x90, 2, 1});  // would fit beside the first
  host.midi(3, fitsNever);
  host.midi(4, {0x80, 1, 0});
  std::vector<Heard> all;
  for (int block = 0; block < 6; ++block) {
    host.run(64);
    all.insert(all.end(), host.came.begin(), host.came.end());
  }
  REQUIRE(all.size() == 4);
  CHECK(all[0].bytes == Bytes{0x90, 1, 1});
  CHECK(all[1].bytes == fitsAlone);
  CHECK(all[2].bytes == Bytes{0x90, 2, 1});
  CHECK(all[3].bytes == Bytes{0x80, 1, 0});
}

TEST_CASE("a queue full of note-ons has room for every note-off", "[lv2_shim]") {
  Host host(65536, 16);  // a port that takes nothing at all
  for (int block = 0; block < 20; ++block) {
    for (int i = 0; i < 1500; ++i) host.midi(0, {0x90, static_cast<std::uint8_t>(i % 128), 1});
    host.run(64);
  }
  for (int i = 0; i < 128 * 16; ++i)
    host.midi(0, {static_cast<std::uint8_t>(0x80 + i / 128), static_cast<std::uint8_t>(i % 128), 0});
  host.run(64);
  std::vector<std::uint64_t> large(65536);
  host.out.swap(large);
  host.outRoom = 500000;
  host.plugin->connect_port(host.handle, 1, host.out.data());
  host.run(64);
  int ons = 0, offs = 0;
  for (const auto& heard : host.came) (heard.bytes[0] >= 0x90 ? ons : offs) += 1;
  CHECK(ons > 1500);
  CHECK(ons < 30000);
  CHECK(offs == 128 * 16);
}

TEST_CASE("a host without an output port, or without an input, is played to all the same", "[lv2_shim]") {
  Host host;
  host.plugin->connect_port(host.handle, 1, nullptr);
  host.midi(0, {0x90, 60, 80});
  lv2_atom_forge_pop(&host.forge, &host.sequence);
  host.plugin->run(host.handle, 64);
  host.plugin->connect_port(host.handle, 0, nullptr);
  host.plugin->run(host.handle, 64);
  CHECK(host.wrapper().pieces.size() == 2);
  CHECK(host.wrapper().pieces[0].events.size() == 1);
  CHECK(host.wrapper().pieces[1].events.empty());
}

TEST_CASE("sequences that lie about their sizes do no harm", "[lv2_shim]") {
  seguente::test::Random random(11);
  Host host(4096, 4096);
  for (int round = 0; round < 20000; ++round) {
    host.position(random.between(-5, 100), random.between(-5, 1000), 1, 0, 0, 120);
    for (int i = 0; i < 5; ++i) host.midi(random.between(-1000, 1000), {0x90, 60, 80});
    lv2_atom_forge_pop(&host.forge, &host.sequence);
    auto* bytes = reinterpret_cast<std::uint8_t*>(host.in.data());
    // Anything but the sequence's own size, which the host answers for, may be broken.
    for (int i = 0; i < 4; ++i) bytes[random.between(16, 300)] = static_cast<std::uint8_t>(random.between(0, 255));
    if (random.oneIn(20)) host.in[0] = static_cast<std::uint64_t>(random.between(0, 24)) | (host.in[0] >> 32 << 32);
    host.runAsItIs(static_cast<std::uint32_t>(random.between(0, 300)));
    for (const auto& piece : host.wrapper().pieces) CHECK(piece.samples <= 300);
    host.begin();
  }
  CHECK(host.wrapper().outside == 0);
}

TEST_CASE("a thousand instances and more: each hears its own host", "[lv2_shim]") {
  for (int round = 0; round < 3; ++round) {
    std::vector<std::unique_ptr<Host>> hosts;
    for (int i = 0; i < 1100; ++i) hosts.push_back(std::make_unique<Host>(1024, 1024));
    for (int i = 0; i < 1100; i += 3) hosts[static_cast<std::size_t>(i)].reset();
    for (std::size_t i = 0; i < hosts.size(); ++i)
      if (hosts[i]) hosts[i]->position(0, static_cast<std::int64_t>(i), 1, 0, 0, 120);
    int placed = 0;
    for (std::size_t i = 0; i < hosts.size(); ++i) {
      if (!hosts[i]) continue;
      hosts[i]->run(64);
      hosts[i]->run(64);  // only who remembers the place begins this block with one
      auto& pieces = hosts[i]->wrapper().pieces;
      REQUIRE(pieces.size() == 1);
      if (pieces[0].position.empty()) continue;
      ++placed;
      CHECK(pieces[0].position[LV2_TIME__frame] == static_cast<double>(i + 64));
    }
    CHECK(placed >= 1024 * 2 / 3 - 1);  // rows are 1024: those beyond run without us
  }
}

#ifndef SEGUENTE_SANITIZED
TEST_CASE("the shim asks for no memory and takes no lock while it runs", "[lv2_shim]") {
  Host host;
  host.wrapper().record = false;
  for (int block = 0; block < 100; ++block) {
    host.position(0, block * 256, 1, 0, static_cast<float>(block) * 0.01f, 120);
    for (int i = 0; i < 50; ++i) host.midi(i, {0x90, 60, 80});
    host.position(100, block * 256 + 100, 1, 0, static_cast<float>(block) * 0.01f, 121);
    lv2_atom_forge_pop(&host.forge, &host.sequence);
    reinterpret_cast<LV2_Atom*>(host.out.data())->size = host.outRoom;
    {
      const seguente::guard::AudioThread audio;
      host.plugin->run(host.handle, 256);
    }
    host.begin();
  }
  CHECK(seguente::guard::violations() == 0);
}
#endif
