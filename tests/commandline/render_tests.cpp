// What the written file promises: every passed event at its own tick with its own bytes; our parts on tracks of ours.
#include <algorithm>
#include <map>

#include "dsp/idiom_file.h"
#include "plugin/commandline/render.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Arranged {
  std::unique_ptr<Performance> performance;
  Rendering rendering;
  MidiFile file;
};

Arranged arrange(const Bytes& midi, HearingOptions options = {}, const char* idiom = "rocking-bass") {
  static IdiomLibrary library({SEGUENTE_PATTERNS});
  const Scratch scratch;
  std::vector<Fault> faults;
  options.input = scratch.write("in.mid", midi);
  auto performance = prepare(options, library.find(idiom, faults));
  INFO(performance.fault);
  REQUIRE(performance.good());
  Arranged a;
  a.performance = std::move(performance.value);
  a.rendering = render(*a.performance, options.rate, options.block);
  a.file = parseMidi(serializeMidi(arrangedFile(*a.performance, a.rendering, options.time))).value;
  return a;
}

struct Event {
  std::int64_t tick;
  Bytes bytes;
  friend bool operator==(const Event&, const Event&) = default;
};

std::vector<Event> eventsOf(const MidiFile& file, std::size_t track) {
  std::vector<Event> events;
  for (const MidiEvent& e : file.tracks[track].events) {
    const auto b = file.bytesOf(e);
    events.push_back({e.tick, Bytes(b.begin(), b.end())});
  }
  return events;
}

/// The oracle: all but notes under C4, which the chord hand took.
bool passes(const Event& e) {
  const bool note = (e.bytes[0] & 0xE0) == 0x80;
  return !note || e.bytes[1] >= 60;
}

std::string trackName(const MidiFile& file, std::size_t track) {
  for (const Event& e : eventsOf(file, track))
    if (e.bytes[0] == 0xFF && e.bytes[1] == 3) return std::string(e.bytes.begin() + 3, e.bytes.end());
  return {};
}

}  // namespace

TEST_CASE("every passed event is written at its own tick with its own bytes on its own track", "[commandline]") {
  for (const int format : {0, 1})
    for (const int resolution : {25, 96, 480, 600, 1000, 15360}) {
      INFO("format " << format << ", " << resolution << " ticks a quarter");
      const Bytes midi = twoBars(format, resolution);
      const auto in = parseMidi(midi).value;
      const auto out = arrange(midi).file;
      CHECK(out.format == 1);
      CHECK(out.resolution == resolution);
      REQUIRE(out.tracks.size() > in.tracks.size());
      for (std::size_t t = 0; t < in.tracks.size(); ++t) {
        auto expected = eventsOf(in, t);
        const auto size = expected.size();
        std::erase_if(expected, [](const Event& e) { return !passes(e); });
        if (t == in.tracks.size() - 1) CHECK(expected.size() < size);  // there were chords to take
        CHECK(eventsOf(out, t) == expected);
      }
    }
}

TEST_CASE("each part has a named track, a program and a channel that the file leaves free", "[commandline]") {
  const auto a = arrange(twoBars(1, 480));
  const std::size_t first = a.performance->file.tracks.size();
  std::map<int, std::string> owners;
  for (std::size_t t = first; t < a.file.tracks.size(); ++t) {
    CHECK(!trackName(a.file, t).empty());
    CHECK(trackName(a.file, t) != "let go");
    const auto events = eventsOf(a.file, t);
    CHECK((events.at(1).bytes[0] & 0xF0) == 0xC0);
    for (const Event& e : events) {
      if (e.bytes[0] >= 0xF0) continue;
      const int channel = e.bytes[0] & 0x0F;
      CHECK(channel > 1);  // the hands have 0 and 1
      CHECK(channel != percussionChannel);
      owners.try_emplace(channel, trackName(a.file, t));
      CHECK(owners[channel] == trackName(a.file, t));
    }
  }
  CHECK(owners.size() == a.file.tracks.size() - first);
}

TEST_CASE("each note of ours ends, on its own track and not before it began", "[commandline]") {
  for (const int resolution : {1, 25, 480}) {
    INFO(resolution << " ticks a quarter");
    const auto a = arrange(twoBars(1, resolution), {}, "blues-shuffle");
    int notes = 0;
    for (std::size_t t = a.performance->file.tracks.size(); t < a.file.tracks.size(); ++t) {
      std::map<int, std::int64_t> since;
      std::map<int, std::int64_t> endedAtOnce;  // rounded to no length: only where the key is struck again
      for (const Event& e : eventsOf(a.file, t)) {
        const int kind = e.bytes[0] & 0xF0;
        if (kind == 0x90) {
          CHECK(since.find(e.bytes[1]) == since.end());
          since[e.bytes[1]] = e.tick;
          endedAtOnce.erase(e.bytes[1]);
          ++notes;
        }
        if (kind == 0x80) {
          REQUIRE(since.find(e.bytes[1]) != since.end());
          CHECK(e.tick >= since[e.bytes[1]]);
          if (e.tick == since[e.bytes[1]]) endedAtOnce[e.bytes[1]] = e.tick;
          since.erase(e.bytes[1]);
        }
      }
      CHECK(since.empty());
      CHECK(endedAtOnce.empty());
    }
    CHECK(notes > 8);
  }
}

TEST_CASE("a note on time stands at its step's own tick, finer than a sample", "[commandline]") {
  // 15,360 ticks a quarter at 613 quarters a minute: more than three ticks a sample at 48 kHz, and no step on a sample.
  HearingOptions options;
  options.time.quartersPerMinute = 613;
  const auto a = arrange(twoBars(1, 15360), options, "blues-shuffle");
  int onTime = 0;
  for (const OurEvent& e : a.rendering.ours) {
    if (e.kind != OutputKind::noteOn || e.reason.cause != DelayCause::none || e.tick != e.reason.dueTick) continue;
    CHECK(e.fileTick == a.performance->time.fileTick(e.reason.dueTick));
    ++onTime;
  }
  CHECK(onTime > 4);
}

TEST_CASE("a part that is no percussion never takes the percussion's channel", "[commandline]") {
  Idiom idiom;
  idiom.parts.resize(3);
  idiom.parts[2].kind = PartKind::percussion;
  const auto channels =
      channelsFor(idiom, static_cast<std::uint16_t>(0xFFFF & ~(1u << 4) & ~(1u << percussionChannel)));
  CHECK(channels.channel[0] == 4);
  CHECK(channels.partsOff == 2);  // the second part finds none
  CHECK(channels.channel[2] == percussionChannel);
  CHECK(channelsFor(idiom, 1u << percussionChannel).partsOff == 4);  // the file has percussion of its own
}

TEST_CASE("a rocking bass over a chord held on the beat begins on the beat's own tick", "[commandline]") {
  // The chord is held from tick 0 of bar 2; what is struck on the beats lies on multiples of the eighth.
  const auto a = arrange(twoBars(1, 1000));
  bool onBarTwo = false;
  for (const OurEvent& e : a.rendering.ours) {
    onBarTwo = onBarTwo || (e.kind == OutputKind::noteOn && e.fileTick == 5000);
    if (e.kind == OutputKind::noteOn && e.reason.cause == DelayCause::none && e.tick == e.reason.dueTick)
      CHECK(e.fileTick % 500 == 0);
  }
  CHECK(onBarTwo);
}

TEST_CASE("blocks and rates change nothing that is written", "[commandline]") {
  const auto once = serializeMidi(arrange(twoBars(1, 480)).file);
  for (const std::size_t block : {1UL, 7UL, 512UL, 8193UL}) {
    HearingOptions options;
    options.block = block;
    if (block == 1) options.rate = 8000;  // a sample a call is slow: at the lowest rate
    CHECK(serializeMidi(arrange(twoBars(1, 480), options).file) == once);
  }
  for (const std::int64_t rate : {44100, 96000, 192000}) {
    HearingOptions options;
    options.rate = rate;
    CHECK(serializeMidi(arrange(twoBars(1, 480), options).file) == once);
  }
}

TEST_CASE("the hands may be on two channels", "[commandline]") {
  HearingOptions options;
  options.settings.handRule = HandRule::byChannel;
  options.settings.melodyChannels = 1;
  options.settings.chordChannels = 2;
  options.settings.split = {0};
  const auto a = arrange(twoBars(1, 480), options);
  REQUIRE(a.rendering.chords.size() == 2);
  CHECK(a.rendering.chords[0].from == Ticks{});
  CHECK(a.rendering.chords[1].chord.root == PitchClass{7});  // B-F-G is G7
  for (const HandRow& row : a.rendering.hands) CHECK(row.reason == HandReason::channel);
}

TEST_CASE("a tempo or meter that is asked for takes the place of the file's own, and nothing else changes",
          "[commandline]") {
  HearingOptions options;
  options.time.quartersPerMinute = 90;
  options.time.otherMeter = true;
  options.time.meter = {3, 4};
  const auto a = arrange(twoBars(1, 480), options, "waltz");
  const auto events = eventsOf(a.file, 0);
  CHECK(events[0] == Event{0, {0xFF, 0x51, 3, 0x0A, 0x2C, 0x2B}});  // 666,667: REFERENCES section 1
  CHECK(events[1] == Event{0, {0xFF, 0x58, 4, 3, 2, 24, 8}});
  CHECK(std::count_if(events.begin(), events.end(),
                      [](const Event& e) { return e.bytes[0] == 0xFF && e.bytes[1] == 0x51; }) == 1);
  auto expected = eventsOf(parseMidi(twoBars(1, 480)).value, 1);
  CHECK(eventsOf(a.file, 1) == expected);
}

TEST_CASE("a file that leaves no channel free is arranged without the parts that find none", "[commandline]") {
  TrackBuilder track;
  addHead(track);
  for (std::uint8_t c = 1; c < 16; ++c)
    if (c != 5 && c != percussionChannel) track.event(0, {static_cast<std::uint8_t>(0xC0 | c), 1});
  track.event(0, {0x90, 48, 70})
      .event(0, {52, 70})
      .event(0, {55, 70})
      .event(1900, {48, 0})
      .event(1900, {52, 0})
      .event(1900, {55, 0});
  HearingOptions options;
  options.settings.chordChannels = 1;
  const auto a = arrange(midiFile(0, 480, {track.chunk()}), options, "waltz");
  CHECK(!a.performance->remarks.empty());
  for (const OurEvent& e : a.rendering.ours) CHECK((e.bytes[0] & 0x0F) == 5);
}

TEST_CASE("when the tune is over and the hand has let go, nothing of ours begins any more", "[commandline]") {
  HearingOptions options;
  options.time.pickup = quarter;
  const auto tune = Scratch::read(SEGUENTE_PATTERNS "/../presets/demo/clementine.mid");
  REQUIRE(!tune.empty());
  const auto a = arrange(tune, options, "waltz");
  const std::int64_t over = std::int64_t{24} * a.file.resolution;  // the last keys go up there
  std::int64_t lastStrike = 0;
  int open = 0;
  for (std::size_t t = a.performance->file.tracks.size(); t < a.file.tracks.size(); ++t)
    for (const Event& e : eventsOf(a.file, t)) {
      if ((e.bytes[0] & 0xF0) == 0x90) lastStrike = std::max(lastStrike, e.tick);
      open += (e.bytes[0] & 0xF0) == 0x90 ? 1 : (e.bytes[0] & 0xF0) == 0x80 ? -1 : 0;
    }
  CHECK(lastStrike > over - 4 * a.file.resolution);
  CHECK(lastStrike < over);
  CHECK(open == 0);
  for (const OurEvent& e : a.rendering.ours)  // the sound and the picture are made from this list
    if (e.kind == OutputKind::noteOn) CHECK(e.fileTick < over);
}

TEST_CASE("a change of meter sends no other idiom, and each part sounds with its member's own programs",
          "[commandline]") {
  TrackBuilder track;
  track.event(0, {0xFF, 0x58, 4, 3, 2, 24, 8}).event(0, {0x90, 48, 70}).event(0, {52, 70}).event(0, {55, 70});
  track.event(2880, {0xFF, 0x58, 4, 4, 2, 24, 8});
  track.event(6720, {0x80, 48, 1}).event(6720, {0x80, 52, 1}).event(6720, {0x80, 55, 1});
  const auto a = arrange(midiFile(0, 480, {track.chunk()}), {}, "waltz");
  REQUIRE(a.performance->playing.size() == 2);
  REQUIRE(a.performance->playing[1].idiom != nullptr);
  int sent = 0;
  for (const Input& in : a.performance->inputs)
    if (in.kind == InputKind::idiom) {
      CHECK(in.idiom.idiom->id == "waltz");
      ++sent;
    }
  CHECK(sent == 1);
  std::array<int, 16> program{};
  int notes[2] = {0, 0};
  for (std::size_t t = 1; t < a.file.tracks.size(); ++t)
    for (const Event& e : eventsOf(a.file, t)) {
      const auto channel = static_cast<std::size_t>(e.bytes[0] & 0x0F);
      if ((e.bytes[0] & 0xF0) == 0xC0) program[channel] = e.bytes[1];
      if ((e.bytes[0] & 0xF0) != 0x90) continue;
      const bool later = e.tick >= 2880;
      const Playing& playing = a.performance->playing[later ? 1 : 0];
      ++notes[later ? 1 : 0];
      bool found = false;
      for (std::size_t i = 0; i < playing.idiom->parts.size(); ++i)
        found =
            found || (playing.channels.channel[i] == channel && playing.idiom->parts[i].program == program[channel]);
      CHECK(found);
    }
  CHECK(notes[0] > 3);
  CHECK(notes[1] > 3);
}

TEST_CASE("a key that the file leaves down is let go at the end", "[commandline]") {
  TrackBuilder track;
  track.event(0, {0x90, 72, 80}).event(0, {48, 70}).event(0, {52, 70}).event(0, {55, 70}).event(960, {0xB0, 7, 100});
  const auto a = arrange(midiFile(0, 480, {track.chunk()}));
  CHECK(trackName(a.file, a.file.tracks.size() - 1) == "let go");
  std::map<int, int> open;
  for (std::size_t t = 0; t < a.file.tracks.size(); ++t)
    for (const Event& e : eventsOf(a.file, t)) {
      const int kind = e.bytes[0] & 0xF0;
      if (kind == 0x90) open[(e.bytes[0] & 15) * 128 + e.bytes[1]] += e.bytes[2] > 0 ? 1 : -1;
      if (kind == 0x80) open[(e.bytes[0] & 15) * 128 + e.bytes[1]] -= 1;
    }
  for (const auto& [key, count] : open) CHECK(count == 0);
}

TEST_CASE("a pedal that is named as Round lets the chords go round to the file's end", "[commandline]") {
  TrackBuilder track;
  addHead(track);
  const auto chord = [&](std::uint32_t from, int low, int middle, int high) {
    for (const int key : {low, middle, high}) track.event(from, {0x90, static_cast<std::uint8_t>(key), 70});
    if (from > 0) track.event(from + 1000, {0xB0, 66, 127}).event(from + 1100, {0xB0, 66, 0});
    for (const int key : {low, middle, high}) track.event(from + 1800, {0x80, static_cast<std::uint8_t>(key), 1});
  };
  chord(0, 48, 52, 55);
  chord(1920, 48, 53, 57);
  track.event(1920 * 5, {0xB0, 20, 0});  // the end, three bars after the last key
  HearingOptions options;
  options.gestures.round = 66;
  const auto a = arrange(midiFile(0, 480, {track.chunk()}), options);
  int gestures = 0;
  for (const Input& in : a.performance->inputs)
    gestures += in.kind == InputKind::gesture && in.gesture == Gesture::round;
  CHECK(gestures == 1);
  std::map<std::int64_t, int> lowest;  // by the tick where it begins
  for (std::size_t t = a.performance->file.tracks.size(); t < a.file.tracks.size(); ++t)
    for (const Event& e : eventsOf(a.file, t))
      if ((e.bytes[0] & 0xF0) == 0x90 && e.bytes[2] > 0)
        lowest[e.tick] = lowest.contains(e.tick) ? std::min<int>(lowest[e.tick], e.bytes[1]) : e.bytes[1];
  CHECK(lowest[1920 * 2] % 12 == 0);  // C and F, a bar each, as they were held
  CHECK(lowest[1920 * 3] % 12 == 5);
  CHECK(lowest[1920 * 4] % 12 == 0);
}

TEST_CASE("a pedal that is named as a gesture says hold, and end, as it goes down", "[commandline]") {
  TrackBuilder track;
  addHead(track);
  track.event(0, {0x90, 48, 70}).event(0, {52, 70}).event(0, {55, 70});
  track.event(960, {0xB0, 66, 20}).event(1000, {0xB0, 66, 64}).event(1010, {0xB0, 66, 127}).event(1900, {0xB0, 66, 0});
  track.event(3000, {0xB0, 67, 127}).event(7000, {0x80, 48, 1}).event(7000, {0x80, 52, 1}).event(7000, {0x80, 55, 1});
  HearingOptions options;
  options.gestures.hold = 66;
  options.gestures.end = 67;
  const auto a = arrange(midiFile(0, 480, {track.chunk()}), options);
  std::vector<std::pair<std::int64_t, Gesture>> gestures;
  for (const Input& in : a.performance->inputs)
    if (in.kind == InputKind::gesture) gestures.emplace_back(a.performance->time.fileTickAt(in.sample), in.gesture);
  REQUIRE(gestures.size() == 2);
  CHECK(gestures[0] == std::pair<std::int64_t, Gesture>{1000, Gesture::hold});
  CHECK(gestures[1] == std::pair<std::int64_t, Gesture>{3000, Gesture::end});
}
