// The table of parameters: what is shown can be typed, what is out of range is put right, and what is asked for
// reaches the engine.
#include <cmath>
#include <limits>
#include <locale>
#include <set>
#include <string>
#include <vector>

#include "plugin/parameters.h"
#include "tests/catch.h"

using namespace seguente;

namespace {

/// Every value that a row allows, as the row itself rounds them.
std::vector<double> allValues(const Parameter& row) {
  std::vector<double> values;
  const auto count = std::lround((row.high - row.low) / row.step);
  for (long i = 0; i <= count; ++i) values.push_back(allowed(row, row.low + static_cast<double>(i) * row.step));
  return values;
}

Settings with(ParameterId which, double value, const Idiom* plays = nullptr) {
  ParameterValues values;
  values.set(which, value);
  return settingsFrom(values, plays);
}

constexpr std::uint8_t bit(PartKind kind) { return static_cast<std::uint8_t>(1u << static_cast<unsigned>(kind)); }

}  // namespace

TEST_CASE("Ids and their order are kept for ever: sessions and automation name parameters by them", "[plugin]") {
  // A copy of the list as it first went out. New ones may be added at the end; none may be changed.
  const std::vector<std::string> first{
      "idiom",     "density",         "swing", "hand-split", "split-key",      "chord-channel",    "register-shift",
      "level",     "force",           "keep",  "bass",       "chords",         "counter-line",     "percussion",
      "transpose", "output-channels", "time",  "own-tempo",  "wait-for-chord", "new-idiom-enters", "hand-span",
      "bypass",    "count-in"};
  REQUIRE(parameterTable().size() >= first.size());
  for (std::size_t i = 0; i < first.size(); ++i) CHECK(parameterTable()[i].id == first[i]);
}

TEST_CASE("The words of a choice are kept for ever, in their order", "[plugin]") {
  const auto words = [](ParameterId which) {
    std::string all;
    for (const auto* word : parameter(which).words) all += std::string(word) + "; ";
    return all;
  };
  CHECK(words(ParameterId::density) == "lean; medium; full; ");
  CHECK(words(ParameterId::handSplit) == "auto; by key; by channel; no melody; ");
  CHECK(words(ParameterId::bass) == "as written; on; off; ");
  CHECK(words(ParameterId::percussion) == words(ParameterId::bass));
  CHECK(words(ParameterId::outputChannels) == "one; one a part; ");
  CHECK(words(ParameterId::time) == "host; own tempo; hands; ");
  CHECK(words(ParameterId::idiomEnters) == "next bar; at once; ");
  CHECK(words(ParameterId::countIn) == "none; 2; 3; 4; 5; 6; 7; 8; ");
}

TEST_CASE("Each parameter stands in its place, has names of its own, and a default that it allows", "[plugin]") {
  std::set<std::string> ids, names;
  for (const auto& row : parameterTable()) {
    INFO(row.id);
    CHECK(&parameter(row.which) == &row);
    CHECK(ids.insert(row.id).second);
    CHECK(names.insert(row.name).second);
    CHECK(std::string(row.id).find_first_not_of("abcdefghijklmnopqrstuvwxyz-") == std::string::npos);
    CHECK(row.low < row.high);
    CHECK(allowed(row, row.standard) == row.standard);
    CHECK(allowed(row, row.high) == row.high);
    CHECK(std::string(row.about).ends_with("."));
    if (row.kind == ParameterKind::choice) CHECK(row.high == static_cast<double>(row.words.size()) - 1);
  }
}

TEST_CASE("Whatever is shown can be typed and means the same value, for every value of every parameter", "[plugin]") {
  for (const auto& row : parameterTable()) {
    std::set<std::string> shown;
    for (const double value : allValues(row)) {
      const auto text = textOf(row, value);
      INFO(row.id << " " << value << " shown as " << text);
      CHECK(valueOf(row, text) == value);
      CHECK(valueOf(row, "  " + text + " " + row.unit + " ") == value);
      CHECK(textOf(row, static_cast<float>(value)) == text);  // hosts keep floats
      CHECK(shown.insert(text).second);                       // no two values look the same
    }
  }
}

TEST_CASE("Values are shown as a musician says them", "[plugin]") {
  const auto shown = [](ParameterId which, double value) { return textOf(parameter(which), value); };
  CHECK(shown(ParameterId::idiom, 0) == "1");
  CHECK(shown(ParameterId::idiom, 127) == "128");
  CHECK(shown(ParameterId::swing, 0.95) == "as written");
  CHECK(shown(ParameterId::swing, 1) == "1.00 : 1");
  CHECK(shown(ParameterId::swing, 1.65) == "1.65 : 1");
  CHECK(shown(ParameterId::splitKey, 60) == "C4");  // the middle one: MIDI 1.0's 60
  CHECK(shown(ParameterId::splitKey, 21) == "A0");  // the ends of the piano's keyboard
  CHECK(shown(ParameterId::splitKey, 108) == "C8");
  CHECK(shown(ParameterId::transpose, 2) == "+2");
  CHECK(shown(ParameterId::transpose, 0) == "0");
  CHECK(shown(ParameterId::transpose, -24) == "-24");
  CHECK(shown(ParameterId::ownTempo, 92.5) == "92.5");
  CHECK(shown(ParameterId::keep, 1) == "on");
  CHECK(shown(ParameterId::handSplit, 3) == "no melody");
}

TEST_CASE("What people type is understood, what means nothing is not", "[plugin]") {
  const auto typed = [](ParameterId which, const char* text) { return valueOf(parameter(which), text); };
  CHECK(typed(ParameterId::density, "FULL") == 2);
  CHECK(typed(ParameterId::handSplit, "By-Channel") == 2);
  CHECK(typed(ParameterId::swing, "2:1") == 2);
  CHECK(typed(ParameterId::swing, "3 : 2") == 1.5);
  CHECK(typed(ParameterId::swing, "1,65") == 1.65);
  CHECK(typed(ParameterId::swing, "0.5") == 1);  // straight, not "as written"
  CHECK(typed(ParameterId::swing, "as written") == 0.95);
  CHECK(typed(ParameterId::splitKey, "f#3") == 54);
  CHECK(typed(ParameterId::splitKey, "Gb3") == 54);
  CHECK(typed(ParameterId::splitKey, "C-1") == 21);  // there is no such key on the piano: the nearest
  CHECK(typed(ParameterId::transpose,
              "\xE2\x88\x92"
              "3") == -3);  // typeset minus
  CHECK(typed(ParameterId::level, "1000 %") == 150);
  CHECK(typed(ParameterId::ownTempo, "92.46") == 92.5);
  CHECK(typed(ParameterId::keep, "Yes") == 1);
  for (const auto& row : parameterTable())
    for (const char* nothing :
         {"", " ", "?", "1 2", "--3", "1e3", "nan", "infinity", "0x10", "99999999999", ".", "1:0"})
      CHECK_FALSE(valueOf(row, nothing).has_value());
}

TEST_CASE("Text does not depend on the locale that a host has set", "[plugin]") {
  struct Comma : std::numpunct<char> {
    char do_decimal_point() const override { return ','; }
    char do_thousands_sep() const override { return '.'; }
    std::string do_grouping() const override { return "\1"; }
  };
  const auto before = std::locale::global(std::locale(std::locale::classic(), new Comma));
  const auto shown = textOf(parameter(ParameterId::ownTempo), 120.5);
  const auto typed = valueOf(parameter(ParameterId::ownTempo), "120.5");
  std::locale::global(before);
  CHECK(shown == "120.5");
  CHECK(typed == 120.5);
}

TEST_CASE("What a host sets beyond the range becomes the nearest value, and no number the default", "[plugin]") {
  constexpr double infinite = std::numeric_limits<double>::infinity();
  for (const auto& row : parameterTable()) {
    INFO(row.id);
    CHECK(allowed(row, row.high + 1000) == row.high);
    CHECK(allowed(row, row.low - 1000) == row.low);
    CHECK(allowed(row, infinite) == row.high);
    CHECK(allowed(row, -infinite) == row.low);
    CHECK(allowed(row, std::nan("")) == row.standard);
    CHECK(allowed(row, row.low + row.step * 1.4) == allowed(row, row.low + row.step));
  }
  ParameterValues values;
  const auto before = values.changes();
  values.set(ParameterId::transpose, 99);
  CHECK(values.get(ParameterId::transpose) == 24);
  CHECK(values.changes() != before);
}

TEST_CASE("Untouched, the parameters ask for what the engine does of itself", "[plugin]") {
  const ParameterValues values;
  const auto asked = settingsFrom(values);
  const Settings plain;
  CHECK(asked.density == plain.density);
  CHECK(asked.swingPermille == 0);
  CHECK(asked.handRule == HandRule::automatic);  // as `seguente render` untouched
  CHECK(asked.follow == FollowSettings{});
  CHECK(asked.split == plain.split);
  CHECK(asked.chordChannels == plain.chordChannels);
  CHECK(asked.melodyChannels == plain.melodyChannels);
  CHECK(asked.level == plain.level);
  CHECK(asked.force == plain.force);
  CHECK(asked.handSpan == plain.handSpan);
  CHECK(asked.registerShift == 0);
  CHECK((asked.kindsOn == 0 && asked.kindsOff == 0));
  CHECK_FALSE((asked.keep || asked.waitForChord || asked.changeIdiomAtOnce));
  CHECK(timeFrom(values, {3, 4}).source == TimeSource::host);
}

TEST_CASE("Each parameter reaches the engine's settings", "[plugin]") {
  CHECK(with(ParameterId::density, 0).density == Density::lean);
  CHECK(with(ParameterId::swing, 1).swingPermille == 1000);
  CHECK(with(ParameterId::swing, 1.65).swingPermille == 1650);
  CHECK(with(ParameterId::swing, 3).swingPermille == 3000);
  CHECK(with(ParameterId::registerShift, -2).registerShift == -2);
  CHECK(with(ParameterId::level, 150).level == 150);
  CHECK(with(ParameterId::force, 0).force == 0);
  CHECK(with(ParameterId::keep, 1).keep);
  CHECK(with(ParameterId::waitForChord, 1).waitForChord);
  CHECK(with(ParameterId::idiomEnters, 1).changeIdiomAtOnce);
  CHECK(with(ParameterId::handSpan, 16).handSpan == 16);
}

TEST_CASE("A part is left as the idiom writes it, asked for, or silenced", "[plugin]") {
  const std::vector<std::pair<ParameterId, PartKind>> parts{{ParameterId::bass, PartKind::bass},
                                                            {ParameterId::chords, PartKind::chords},
                                                            {ParameterId::counterLine, PartKind::counterLine},
                                                            {ParameterId::percussion, PartKind::percussion}};
  for (const auto& [id, kind] : parts) {
    CHECK((with(id, 1).kindsOn == bit(kind) && with(id, 1).kindsOff == 0));
    CHECK((with(id, 2).kindsOff == bit(kind) && with(id, 2).kindsOn == 0));
  }
}

TEST_CASE("Auto tells the hands apart by listening on every channel but the percussion's, by key by a key",
          "[plugin]") {
  CHECK(with(ParameterId::handSplit, 0).handRule == HandRule::automatic);
  CHECK(with(ParameterId::handSplit, 0).chordChannels == 0xFDFF);
  CHECK(with(ParameterId::handSplit, 0).melodyChannels == 0xFDFF);
  CHECK(with(ParameterId::handSplit, 1).handRule == HandRule::byKey);
  CHECK(with(ParameterId::handSplit, 3).handRule == HandRule::noMelody);
}

TEST_CASE("By channel the chord hand has one channel, and the melody all others but the percussion's", "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::handSplit, 2);
  values.set(ParameterId::chordChannel, 3);
  CHECK(settingsFrom(values).handRule == HandRule::byChannel);
  CHECK(settingsFrom(values).chordChannels == 0x0004);
  CHECK(settingsFrom(values).melodyChannels == 0xFDFB);
  values.set(ParameterId::chordChannel, 10);
  CHECK(settingsFrom(values).chordChannels == 0x0200);
  CHECK(settingsFrom(values).melodyChannels == 0xFDFF);
  values.set(ParameterId::chordChannel, 16);
  CHECK(settingsFrom(values).chordChannels == 0x8000);
}

TEST_CASE("The split moves with the keys when everything is transposed", "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::splitKey, 60);
  values.set(ParameterId::transpose, -2);  // heard a tone lower: the keys come to the engine a tone lower too
  CHECK(settingsFrom(values).split == NoteNumber{58});
  values.set(ParameterId::splitKey, 108);
  values.set(ParameterId::transpose, 24);
  CHECK(settingsFrom(values).split == NoteNumber{127});
  values.set(ParameterId::splitKey, 21);
  values.set(ParameterId::transpose, -24);
  CHECK(settingsFrom(values).split == NoteNumber{0});
}

TEST_CASE("Percussion goes to channel 10 wherever it stands among the parts, all else to 1 or to 2 and up",
          "[plugin]") {
  using Channels = std::array<std::uint8_t, 4>;  // counted from 0
  CHECK(with(ParameterId::outputChannels, 0).outputChannel == Channels{0, 0, 0, 9});
  CHECK(with(ParameterId::outputChannels, 1).outputChannel == Channels{1, 2, 3, 9});
  Idiom idiom;
  idiom.parts.resize(3);
  idiom.parts[1].kind = PartKind::percussion;
  CHECK(with(ParameterId::outputChannels, 0, &idiom).outputChannel == Channels{0, 9, 0, 0});
  CHECK(with(ParameterId::outputChannels, 1, &idiom).outputChannel == Channels{1, 9, 3, 4});
}

TEST_CASE("Without a host's time the own tempo counts in the idiom's meter", "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::ownTempo, 92.5);
  values.set(ParameterId::time, 1);
  const auto time = timeFrom(values, {3, 4});
  CHECK(time.source == TimeSource::own);
  CHECK(time.ownTempo == Approx(92.5));
  CHECK(time.ownMeter == Meter{3, 4});
  CHECK_FALSE(settingsFrom(values).follow.on);
}

TEST_CASE("Hands that give the time are followed in the idiom's meter, or in the one that they are heard in",
          "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::time, 2);
  CHECK(timeFrom(values, {3, 4}).source == TimeSource::hands);
  Idiom waltz;
  waltz.meter = {3, 4};
  const auto inThree = settingsFrom(values, nullptr, &waltz).follow;
  CHECK((inThree.on && !inThree.guessMeter));
  CHECK(inThree.meter == Meter{3, 4});
  waltz.anyMeter = true;
  CHECK(settingsFrom(values, nullptr, &waltz).follow.guessMeter);
  CHECK(settingsFrom(values).follow.guessMeter);  // no idiom is known yet
}

TEST_CASE("The own tempo says about how fast the hands will play, and where it stands unasked it says nothing",
          "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::time, 2);
  CHECK(settingsFrom(values).follow.tempo == 0);
  values.set(ParameterId::ownTempo, 92.5);
  CHECK(settingsFrom(values).follow.tempo == 93);
  values.set(ParameterId::ownTempo, 30);
  CHECK(settingsFrom(values).follow.tempo == 30);
}

TEST_CASE("A count-in has as many strokes as its word says, or there is none", "[plugin]") {
  ParameterValues values;
  values.set(ParameterId::time, 2);
  CHECK(settingsFrom(values).follow.countIn == 0);
  for (const int strokes : {2, 3, 4, 8}) {
    values.set(ParameterId::countIn, *valueOf(parameter(ParameterId::countIn), std::to_string(strokes)));
    CHECK(settingsFrom(values).follow.countIn == strokes);
  }
  values.set(ParameterId::time, 0);
  CHECK(settingsFrom(values).follow == FollowSettings{});
}

TEST_CASE("A value that is set to what it is counts as no change", "[parameters]") {
  ParameterValues values;
  const auto before = values.changes();
  values.set(ParameterId::bypass, 0);
  CHECK(values.changes() == before);
  values.set(ParameterId::bypass, 1);
  CHECK(values.changes() == before + 1);
}
