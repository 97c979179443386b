// The tune is in front: demo tunes in idioms with every kind of part, through the instrument, measured as broadcasters
// measure loudness (ITU-R BS.1770-4). That a melody stands some decibels before its accompaniment is common practice,
// no source; pianists were measured to play a melody up to 20 (of 127) harder than what goes with it (Goebl 2001).
#include <map>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "plugin/sound/instrument.h"
#include "plugin/sound/sound_file.h"
#include "tests/catch.h"
#include "tests/sound/measures.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr std::int64_t rate = 48000;

struct Stamped {
  std::int64_t sample = 0;
  Played played{};
};

/// All that sounds when this idiom accompanies a demo tune, in order.
std::vector<Stamped> events(const std::string& tune, const Idiom& idiom, std::int64_t& end, bool percussion = false) {
  HearingOptions options;
  if (percussion) options.settings.kindsOn = 1u << static_cast<unsigned>(PartKind::percussion);
  options.input = SEGUENTE_PRESETS "/demo/" + tune + ".mid";
  const auto performance = prepare(options, &idiom);
  REQUIRE(performance.good());
  auto& p = *performance.value;
  const auto rendered = render(p, rate, 0);
  std::vector<Stamped> all;
  for (std::size_t i = 0; i < p.inputs.size(); ++i) {
    if (rendered.passed[i] == 0 || p.inputs[i].midi.bytes[0] >= 0xF0) continue;
    all.push_back({p.inputs[i].sample.value, {.bytes = p.inputs[i].midi.bytes}});
  }
  static constexpr std::array kinds{Role::bass, Role::chords, Role::counterLine, Role::percussion};
  for (const auto& o : rendered.ours) {
    Played played{.bytes = o.bytes, .ours = true};
    if (o.kind == OutputKind::noteOn) {
      const Part& part = idiom.parts[o.reason.part];
      played.role = kinds[static_cast<std::size_t>(part.kind)];
      played.part = o.reason.part;
      played.program = part.program;
      played.pedal = part.pedal;
    }
    all.push_back({o.sample.value, played});
  }
  std::stable_sort(all.begin(), all.end(), [](const Stamped& a, const Stamped& b) { return a.sample < b.sample; });
  end = std::min(rendered.end.value, 16 * rate);
  return all;
}

/// Only the notes of these roles; offs and controllers all.
Stereo sound(const std::vector<Stamped>& all, std::int64_t end, std::vector<Role> only, float* turnedDown = nullptr) {
  Instrument instrument("/usr/share/sounds/sf2/TimGM6mb.sf2");
  REQUIRE(instrument.prepare(rate) == SoundState::ready);
  Stereo heard;
  std::size_t next = 0;
  for (std::int64_t at = 0; at < end; at += 512) {
    for (; next < all.size() && all[next].sample < at + 512; ++next) {
      auto p = all[next].played;
      const bool noteOn = (p.bytes[0] & 0xF0) == 0x90 && p.bytes[2] != 0;
      if (noteOn && std::find(only.begin(), only.end(), p.role) == only.end()) continue;
      p.offset = static_cast<std::int32_t>(all[next].sample - at);
      instrument.add(p);
    }
    std::vector<float> l(512), r(512);
    instrument.render(l.data(), r.data(), 512);
    heard.left.insert(heard.left.end(), l.begin(), l.end());
    heard.right.insert(heard.right.end(), r.begin(), r.end());
  }
  if (turnedDown != nullptr) *turnedDown = instrument.takeLevel().turnedDown;
  return heard;
}

const std::vector<Role> everybody{Role::tune, Role::bass, Role::chords, Role::counterLine, Role::percussion};
const std::vector<Role> accompaniment{Role::bass, Role::chords, Role::counterLine, Role::percussion};

}  // namespace

TEST_CASE(
    "The tune stands before the accompaniment, no part drowns another, and the limiter has next to nothing to do") {
  for (const auto& [tune, name] : std::multimap<std::string, std::string>{{"long-long-ago", "broken-bass"},
                                                                          {"long-long-ago", "bossa-nova"},
                                                                          {"long-long-ago", "walking-bass"},
                                                                          {"clementine", "waltz"},
                                                                          {"twelve-bars", "blues-shuffle"}}) {
    std::int64_t end = 0;
    const auto all = events(tune, idiom(name), end);
    float least = 1;
    const auto whole = sound(all, end, everybody, &least);
    const double melody = loudnessOf(sound(all, end, {Role::tune}));
    const double others = loudnessOf(sound(all, end, accompaniment));
    INFO(tune << " as " << name << ": all " << loudnessOf(whole) << " LUFS, tune " << melody << ", accompaniment "
              << others << ", peak " << decibels(peakOf(whole)) << " dB, limiter "
              << decibels(static_cast<double>(least)));
    std::map<Role, double> parts;
    for (const auto role : accompaniment) {
      parts[role] = loudnessOf(sound(all, end, {role}));
      UNSCOPED_INFO("role " << static_cast<int>(role) << ": " << parts[role] << " LUFS");
    }
    CHECK(melody - others > 1);
    CHECK(melody - others < 10);
    for (const auto role : {Role::bass, Role::chords})
      if (parts[role] > -100) CHECK(others - parts[role] < 9);
    CHECK(peakOf(whole) <= 0.8913);
    CHECK(least > 0.9F);
    if (const char* folder = std::getenv("SEGUENTE_SOUNDS"); folder != nullptr) {
      SoundFile file;
      REQUIRE(file.open(std::string(folder) + "/" + tune + " " + name + ".wav", SoundFormat::wav, rate).empty());
      std::vector<float> turns;
      for (std::size_t i = 0; i < whole.size(); ++i) turns.insert(turns.end(), {whole.left[i], whole.right[i]});
      CHECK(file.write(turns).empty());
    }
  }
}

TEST_CASE("Percussion, where it is asked for, is heard behind the tune") {
  for (const auto* const name : {"ska", "rock-eighths", "cha-cha-cha"}) {
    std::int64_t end = 0;
    const auto all = events("long-long-ago", idiom(name), end, true);
    const double melody = loudnessOf(sound(all, end, {Role::tune}));
    const double percussion = loudnessOf(sound(all, end, {Role::percussion}));
    INFO(name << ": tune " << melody << ", percussion " << percussion << " LUFS");
    CHECK(percussion < melody - 1);
    CHECK(percussion > melody - 20);
  }
}
