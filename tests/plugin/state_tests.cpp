// Sessions as text: what was written is read back to the letter, old ones open for ever, rubbish is refused whole.
#include <limits>

#include "plugin/state.h"
#include "plugin/state_text.h"
#include "tests/catch.h"
#include "tests/plugin/old_states.h"
#include "tests/plugin/own_files.h"
#include "tests/plugin/state_examples.h"

using namespace seguente;
using namespace seguente::test;

namespace {

double valueIn(const SavedState& state, ParameterId which) { return state.values[static_cast<std::size_t>(which)]; }

bool same(const SavedState& a, const SavedState& b) {
  const auto sameSlot = [](const SavedSlot& x, const SavedSlot& y) {
    return x.slot == y.slot && x.id == y.id && x.text == y.text;
  };
  return a.values == b.values && a.givers == b.givers &&
         std::equal(a.slots.begin(), a.slots.end(), b.slots.begin(), b.slots.end(), sameSlot);
}

SavedState readGood(std::string_view text) {
  auto result = readState(text);
  INFO(result.fault);
  REQUIRE(result.state.has_value());
  CHECK(result.fault.empty());
  return *result.state;
}

/// The fault, after making sure that nothing else came.
std::string refused(std::string_view text) {
  const auto result = readState(text);
  CHECK_FALSE(result.state.has_value());
  CHECK(result.fault.find('\n') == std::string::npos);
  return result.fault;
}

// Version 1 as somebody may have written it by hand: remarks, other order, other marks, line ends of another system.
constexpr const char* handWritten1 =
    "\xEF\xBB\xBF# my session\r\nversion = 1 # the first\r\n\r\n"
    "[[ idioms ]]\r\nid = 'tango'\r\ntext = 'a \\ b'\r\nslot = 9\r\n"
    "[parameters]\r\nkeep = \"on\"\r\nswing = \"2 : 1\"\r\nsplit-key = 48\r\ndensity = \"Lean\"\r\ntranspose = +2\r\n"
    "[signals]\r\nnext = \"Key C3, Channel 2\"\r\n[end]";

}  // namespace

TEST_CASE("A session of version 1 opens for ever as it was left", "[plugin]") {
  CHECK(same(readGood(writtenByVersion1), ofVersion1()));
}

TEST_CASE("Sessions saved before hands were listened to keep what they said of them", "[plugin]") {
  // Literal: as saved then. "auto" and "hands" were words already, though nobody listened; "by key" stays by key.
  const auto saved = [](const std::string& split, const std::string& time) {
    return readGood(
        "# A session of Seguente. Slots count from 0.\nversion = 1\n\n[parameters]\nidiom = 2\nhand-split = \"" +
        split + "\"\nsplit-key = \"E4\"\ntime = \"" + time + "\"\nown-tempo = 100\n\n[end]\n");
  };
  const auto settings = [](const SavedState& state) {
    ParameterValues values;
    for (const auto& row : parameterTable()) values.set(row.which, valueIn(state, row.which));
    return settingsFrom(values);
  };
  CHECK(settings(saved("by key", "host")).handRule == HandRule::byKey);
  CHECK(settings(saved("by key", "host")).split == NoteNumber{64});
  CHECK(settings(saved("by channel", "host")).handRule == HandRule::byChannel);
  CHECK(settings(saved("no melody", "host")).handRule == HandRule::noMelody);
  CHECK(settings(saved("auto", "host")).handRule == HandRule::automatic);
  CHECK_FALSE(settings(saved("auto", "host")).follow.on);
  CHECK_FALSE(settings(saved("auto", "own tempo")).follow.on);
  CHECK(settings(saved("auto", "hands")).follow.on);
  CHECK(settings(readGood("version = 1\n[end]\n")).handRule == HandRule::automatic);  // nothing said: the default
}

TEST_CASE("Sessions saved before turnaround and tag were signals open, and nothing gives those two", "[plugin]") {
  // Literal: as the seven signals were saved.
  const auto state = readGood(
      "# A session of Seguente. Slots count from 0.\nversion = 1\n\n[parameters]\nidiom = 2\n\n[signals]\n"
      "hold = \"controller 67, channel 1\"\ngo-on = \"nothing\"\nend = \"nothing\"\nnext = \"key C2, channel 1\"\n"
      "previous = \"nothing\"\nsilence-all = \"nothing\"\nround = \"controller 66, channel 3\"\n\n[end]\n");
  std::array<Giver, signalCount> expected{};
  expected[static_cast<std::size_t>(Signal::hold)] = {GiverKind::controller, 0, 67};
  expected[static_cast<std::size_t>(Signal::next)] = {GiverKind::key, 0, 36};
  expected[static_cast<std::size_t>(Signal::round)] = {GiverKind::controller, 2, 66};
  CHECK(state.givers == expected);
  // Literal: as they are saved from now on.
  auto with = standard();
  with.givers[static_cast<std::size_t>(Signal::turnaround)] = {GiverKind::controller, 0, 66};
  with.givers[static_cast<std::size_t>(Signal::tag)] = {GiverKind::key, 15, 21};
  const auto text = writeState(with);
  CHECK(text.find("round = \"nothing\"\nturnaround = \"controller 66, channel 1\"\ntag = \"key A0, channel 16\"\n") !=
        std::string::npos);
  CHECK(same(readGood(text), with));
}

TEST_CASE("A session keeps the running order that is open, whole and with its place; older ones have none",
          "[plugin]") {
  // Literal: as it is saved from now on.
  auto with = standard();
  with.order = SavedOrder{"evening.toml", "format = 1\ntitle = \"An evening\"\n", 2};
  const auto text = writeState(with);
  CHECK(text.find(
            "\n[order]\nname = \"evening.toml\"\nplace = 2\ntext = '''\nformat = 1\ntitle = \"An evening\"\n'''\n") !=
        std::string::npos);
  const auto back = readGood(text);
  REQUIRE(back.order);
  CHECK(back.order->name == "evening.toml");
  CHECK(back.order->text == with.order->text);
  CHECK(back.order->place == 2);
  CHECK(!readGood(writtenByVersion1).order);
  CHECK(readGood("version = 1\n[order]\nplace = -3\nname = 5\n[end]\n").order->place == 0);
  CHECK(refused("version = 1\n[order]\n[order]\n[end]\n") ==
        "session:3:1: found a second [order], expected each section once");
}

TEST_CASE("A session of version 1 written by hand opens too", "[plugin]") {
  const auto state = readGood(handWritten1);
  auto expected = standard();
  expected.values[static_cast<std::size_t>(ParameterId::keep)] = 1;
  expected.values[static_cast<std::size_t>(ParameterId::swing)] = 2;
  expected.values[static_cast<std::size_t>(ParameterId::splitKey)] = 48;
  expected.values[static_cast<std::size_t>(ParameterId::density)] = 0;
  expected.values[static_cast<std::size_t>(ParameterId::transpose)] = 2;
  expected.givers[3] = {GiverKind::key, 1, 48};
  expected.slots = {{9, "tango", "a \\ b"}};
  CHECK(same(state, expected));
}

TEST_CASE("Today's program writes version 1 to the letter, and behind it what was added since", "[plugin]") {
  std::string today = writtenByVersion1;
  today.insert(today.find("\n[signals]"), "count-in = \"none\"\n");
  today.insert(today.find("\n[[idioms]]"), "round = \"nothing\"\nturnaround = \"nothing\"\ntag = \"nothing\"\n");
  CHECK(writeState(ofVersion1()) == today);
  auto shuffled = ofVersion1();
  std::swap(shuffled.slots[0], shuffled.slots[1]);
  CHECK(writeState(shuffled) == today);  // by slot, whatever the order
}

TEST_CASE("Any session is read back as it was written, whatever bytes its texts hold", "[plugin]") {
  for (std::uint64_t seed = 0; seed < 1000; ++seed) {
    Random random(seed);
    const auto state = randomState(random, seed % 2 == 0 ? Letters::unicode : Letters::anyBytes);
    const auto text = writeState(state);
    INFO("seed " << seed << "\n" << text);
    const auto again = readGood(text);
    CHECK(same(again, state));
    CHECK(writeState(again) == text);
  }
}

TEST_CASE("Each value of each parameter survives a session, as the host's own float too", "[plugin]") {
  for (const auto& row : parameterTable())
    for (long i = 0; i <= std::lround((row.high - row.low) / row.step); ++i) {
      auto state = standard();
      auto& value = state.values[static_cast<std::size_t>(row.which)];
      const double exact = allowed(row, row.low + static_cast<double>(i) * row.step);
      value = static_cast<float>(exact);
      INFO(row.id << " " << exact);
      CHECK(valueIn(readGood(writeState(state)), row.which) == exact);
    }
}

TEST_CASE("What cannot be written is put right before: no number, out of range", "[plugin]") {
  auto state = standard();
  state.values.fill(std::numeric_limits<double>::quiet_NaN());
  CHECK(same(readGood(writeState(state)), standard()));
  state.values.fill(std::numeric_limits<double>::infinity());
  for (const auto& row : parameterTable()) CHECK(valueIn(readGood(writeState(state)), row.which) == row.high);
}

TEST_CASE("A value out of range means the nearest, one that means nothing the default, what is unknown nothing",
          "[plugin]") {
  const auto state = readGood(R"(version = 1
later = "a key of a later minor version"
[parameters]
idiom = 500
density = "huge"
swing = nan
level = inf
force = -inf
keep = 0.7
split-key = "H9"
transpose = "far"
own-tempo = 92.4999
bass = 2
bypass = "perhaps"
idioms = 3
unknown-parameter = 12
[signals]
hold = 3
end = "controller 123, channel 1"
unknown-signal = "key C2, channel 1"
[later.section]
a = 1
[[more]]
b = true
[end]
what stands behind is not read
)");
  CHECK(valueIn(state, ParameterId::idiom) == 127);
  CHECK(valueIn(state, ParameterId::density) == 1);
  CHECK(valueIn(state, ParameterId::swing) == 0.95);
  CHECK(valueIn(state, ParameterId::level) == 150);
  CHECK(valueIn(state, ParameterId::force) == 0);
  CHECK(valueIn(state, ParameterId::keep) == 1);
  CHECK(valueIn(state, ParameterId::splitKey) == 60);
  CHECK(valueIn(state, ParameterId::transpose) == 0);
  CHECK(valueIn(state, ParameterId::ownTempo) == 92.5);
  CHECK(valueIn(state, ParameterId::bass) == 2);
  CHECK(valueIn(state, ParameterId::bypass) == 0);
  CHECK(state.givers == std::array<Giver, signalCount>{});
  CHECK(state.slots.empty());
}

TEST_CASE("What is no session is refused whole, with line and column", "[plugin]") {
  const std::string head = "version = 1\n";
  const std::vector<std::pair<std::string, std::string>> faults{
      {"", "session:1:1: found nothing, expected version = 1 before everything else"},
      {"# nothing\n", "session:1:1: found nothing, expected version = 1 before everything else"},
      {"level = 3\n", "session:1:1: found level, expected version = 1 before everything else"},
      {"[parameters]\n", "session:1:1: found [parameters], expected version = 1 before everything else"},
      {"version = 2\n",
       "session:1:1: found a session of a later version of Seguente, expected version = 1 before everything else"},
      {"version = 0\n", "session:1:1: found a version that is none, expected version = 1 before everything else"},
      {"version = nan\n", "session:1:1: found a version that is none, expected version = 1 before everything else"},
      {"version = 1.5\n", "session:1:1: found a version that is none, expected version = 1 before everything else"},
      {"version = '1'\n", "session:1:1: found a version that is none, expected version = 1 before everything else"},
      {head, "session:2:1: found the end of the text, expected [end] as the last line: it is cut off"},
      {"VC2!rubbish", "session:1:4: found \"!\", expected an equals sign"},
      {"\x01", "session:1:1: found a control character, expected a key, or a section in brackets"},
      {head + "[parameters\n",
       "session:2:12: found the end of the line, expected the bracket that closes the section's name"},
      {head + "[parameters]\nlevel = 3 4\n", "session:3:11: found \"4\", expected the end of the line"},
      {head + "[parameters]\nlevel = [3]\n", "session:3:9: found \"[\", expected a text, a number, true or false"},
      {head + "[parameters]\n\xC3\xA4 = 3\n",
       "session:3:1: found a letter beyond ASCII outside quotation marks, expected a key, or a section in brackets"},
      {head + "[parameters]\nlevel = 3\nlevel = 4\n", "session:4:1: found a second level, expected each key once"},
      {head + "[signals]\nhold = 'nothing'\nhold = 'nothing'\n",
       "session:4:1: found a second hold, expected each key once"},
      {head + "[idioms]\n", "session:2:1: found [idioms], expected [[idioms]]"},
      {head + "[[idioms]]\nslot = 128\n", "session:3:1: found a slot that is none, expected slot = 0 to 127"},
      {head + "[[idioms]]\nslot = -1\n", "session:3:1: found a slot that is none, expected slot = 0 to 127"},
      {head + "[[idioms]]\nslot = 1.5\n", "session:3:1: found a slot that is none, expected slot = 0 to 127"},
      {head + "[[idioms]]\nslot = nan\n", "session:3:1: found a slot that is none, expected slot = 0 to 127"},
      {head + "[[idioms]]\nslot = '1'\n", "session:3:1: found a slot that is none, expected slot = 0 to 127"},
      {head + "[[idioms]]\nslot = 1\ntext = 'a'\n[[idioms]]\nslot = 1\ntext = 'a'\n",
       "session:6:1: found slot 1 a second time, expected each slot once"},
      {head + "[[idioms]]\nslot = 1\n[end]\n",
       "session:2:1: found an idiom without text, expected slot, id and text of each idiom"},
      {head + "[[idioms]]\ntext = 'a'\n[signals]\n",
       "session:2:1: found an idiom without slot, expected slot, id and text of each idiom"},
      {head + "[[idioms]]\ntext = 3\n",
       "session:3:1: found text that is no text, expected a text between quotation marks"},
      {head + "a = '\xC3\xA4\n",
       "session:2:7: found the end of the line, expected the quotation mark that closes the text"},
      {head + "a = '''b", "session:2:9: found the end, expected the three quotation marks that close the text"},
      {head + "a = \"\\x\"\n", "session:2:6: found \"\\\", expected an escape of TOML"},
      {head + "a = \"\\uD800\"\n", "session:2:6: found \"\\\", expected an escape of TOML"},
  };
  for (const auto& [text, fault] : faults) CHECK(refused(text) == fault);
}

TEST_CASE("A session cut off anywhere is refused", "[plugin]") {
  const std::string whole = writtenByVersion1;
  const auto last = whole.rfind(']');
  for (std::size_t length = 0; length <= last; ++length) refused(whole.substr(0, length));
  readGood(whole.substr(0, last + 1));
}

TEST_CASE("A session with any byte changed is read or refused, never more", "[plugin]") {
  Random random(5);
  for (int n = 0; n < 3000; ++n) {
    std::string text = writtenByVersion1;
    for (auto changes = random.between(1, 4); changes > 0; --changes)
      text[static_cast<std::size_t>(random.between(0, static_cast<std::int64_t>(text.size()) - 1))] =
          static_cast<char>(random.between(0, 255));
    const auto result = readState(text);
    INFO(text);
    REQUIRE(result.state.has_value() == result.fault.empty());
    if (result.state) CHECK(same(readGood(writeState(*result.state)), *result.state));
  }
}

TEST_CASE("Ten megabytes of rubbish are refused, and a text of that size is no fault", "[plugin]") {
  constexpr std::size_t large = 10u << 20;
  for (const std::string piece : {"\xFF", "[", "a", "a.", "'", "[[idioms]]\n", "a = [", "version = 1\n"}) {
    std::string text;
    while (text.size() < large) text += piece;
    if (piece == "version = 1\n") text += "?";
    refused(text);
    refused("version = 1\n" + text + "\n?");
  }
  CHECK(refused(writeState(standard()) + std::string(65u << 20, '#')).find(" bytes, expected at most 67108864 bytes") !=
        std::string::npos);
  auto state = standard();
  state.slots.push_back({3, "large", std::string(large, '"')});
  CHECK(same(readGood(writeState(state)), state));
}

TEST_CASE("A preset that says nothing of pedals leaves the player's own", "[plugin]") {
  const auto preset = readState("version = 1\n[parameters]\nkeep = \"on\"\n[end]\n");
  REQUIRE(preset.state);
  CHECK(!preset.state->saysGivers);
  const auto session = readState(writeState(standard()));
  REQUIRE(session.state);
  CHECK(session.state->saysGivers);
}

TEST_CASE("No path stands in a session, wherever its idioms were read", "[plugin]") {
  OwnFiles own("pathless");
  own.write("mine.toml", smallIdiom("mine"));
  Shelf shelf(own.path);
  shelf.open();
  auto state = standard();
  state.slots = shelf.save();
  const auto text = writeState(state);
  CHECK(text.find(smallIdiom("mine")) != std::string::npos);
  CHECK(text.find(own.path.string()) == std::string::npos);
  CHECK(text.find(own.path.filename().string()) == std::string::npos);
}
