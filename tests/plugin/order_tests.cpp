// Running orders: read with every fault at its place, played preset by preset from bar line to bar line, kept in a
// session. What the format means: presets/orders/README.md.
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include "plugin/orders.h"
#include "plugin/session.h"
#include "tests/catch.h"
#include "tests/plugin/own_files.h"
#include "tests/support/harness.h"
#include "tests/support/music.h"
#include "tests/support/score.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr const char* evening =
    "format = 1\n"
    "title = \"An evening\"\n"
    "[settings]\n"
    "density = \"lean\"\n"
    "[[presets]]\n"
    "title = \"First\"\n"
    "idiom = \"waltz\"\n"
    "[[presets]]\n"
    "title = \"Second\"\n"
    "about = \"a tone up\"\n"
    "idiom = \"rocking-bass\"\n"
    "transpose = 2\n"
    "density = \"full\"\n"
    "own-tempo = 90\n"
    "[[presets]]\n"
    "title = \"Third\"\n"
    "idiom = \"nowhere\"\n";

RunningOrder good(std::string_view text) {
  auto result = readOrder(text, "evening.toml");
  for (const auto& fault : result.faults) UNSCOPED_INFO(fault.text());
  REQUIRE(result.order.has_value());
  return *result.order;
}

std::string faultsOf(std::string_view text) {
  const auto result = readOrder(text, "e.toml");
  CHECK_FALSE(result.order.has_value());
  std::string all;
  for (const auto& fault : result.faults) all += (all.empty() ? "" : "\n") + fault.text();
  return all;
}

std::string contentsOf(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

/// An instance with a shelf and a folder of orders, in a host that rolls at 120 quarters a minute, blocks of 512.
class Stand {
 public:
  explicit Stand(const std::string& name, Meter meter = {4, 4})
      : files(name),
        meter_(meter),
        shelf_({}),
        session_(values_, signals_, shelf_.lent(), view_),
        orders(shelf_, session_.order()) {
    orders.useFolder(files.path);
    values_.set(ParameterId::outputChannels, 1);  // one a part
    shelf_.open();
    session_.prepare(48000);
    orders.look();
  }
  Session& session() { return session_; }
  ParameterValues& values() { return values_; }
  SignalMap& signals() { return signals_; }
  View view() const {
    View v;
    view_.read(v);
    return v;
  }
  std::string idiom() const { return shelf_.entry(static_cast<std::size_t>(session_.slot())).id; }
  void message(std::vector<std::uint8_t> bytes, std::int64_t offset = 0) {
    waiting_.push_back({offset, std::move(bytes)});
  }
  void press(const std::string& names, std::int64_t offset = 0) {
    for (const auto k : keys(names)) message({0x90, k.value, 70}, offset);
  }
  void release(const std::string& names) {
    for (const auto k : keys(names)) message({0x80, k.value, 64});
  }
  void block() {
    HostPosition p;
    p.quarters = static_cast<double>(now_) / 24000;
    p.quartersPerMinute = 120;
    p.meter = meter_;
    p.playing = playing;
    const MidiOut out{this, [](void* me, std::int64_t offset, std::span<const std::uint8_t> b) {
                        auto& s = *static_cast<Stand*>(me);
                        s.heard.push_back({s.now_ + offset, {b.begin(), b.end()}});
                      }};
    session_.begin(p, size, false, out);
    for (const auto& w : waiting_) session_.message(w.at, w.bytes);
    waiting_.clear();
    session_.end();
    if (playing) now_ += size;
  }
  /// To a place in quarters, or a little behind.
  void runTo(double quarters) {
    while (static_cast<double>(now_) < quarters * 24000) block();
  }
  std::int64_t now() const { return now_; }
  struct Heard {
    std::int64_t at;
    std::vector<std::uint8_t> bytes;
  };
  /// Pitch classes that began on our channels (2 and up) between two places in quarters.
  std::set<int> classes(double from, double until) const {
    std::set<int> all;
    for (const auto& h : heard)
      if ((h.bytes[0] & 0xF0) == 0x90 && (h.bytes[0] & 0x0F) > 0 && h.bytes[2] > 0 &&
          static_cast<double>(h.at) >= from * 24000 - 1 && static_cast<double>(h.at) < until * 24000 - 1)
        all.insert(h.bytes[1] % 12);
    return all;
  }
  int strokes(double from, double until) const {
    int all = 0;
    for (const auto& h : heard)
      all += (h.bytes[0] & 0xF0) == 0x90 && (h.bytes[0] & 0x0F) > 0 && h.bytes[2] > 0 &&
             static_cast<double>(h.at) >= from * 24000 - 1 && static_cast<double>(h.at) < until * 24000 - 1;
    return all;
  }
  /// Keys that are open, all channels.
  int open() const {
    std::map<int, int> down;
    for (const auto& h : heard) {
      const auto kind = h.bytes[0] & 0xF0;
      const int key = (h.bytes[0] & 15) * 128 + h.bytes[1];
      if (kind == 0x90 && h.bytes[2] > 0) ++down[key];
      if (kind == 0x80 || (kind == 0x90 && h.bytes[2] == 0)) --down[key];
    }
    int count = 0;
    for (const auto& [key, n] : down) count += n;
    return count;
  }
  std::vector<Heard> heard;
  std::int64_t size = 512;
  bool playing = true;
  OwnFiles files;

 private:
  Meter meter_;
  ParameterValues values_;
  SignalMap signals_;
  ViewBox view_;
  Shelf shelf_;
  Session session_;
  std::vector<Heard> waiting_;
  std::int64_t now_ = 0;

 public:
  Orders orders;
};

const std::set<int> cMajor{0, 4, 7}, dMajor{2, 6, 9};

bool within(const std::set<int>& some, const std::set<int>& all) {
  return std::includes(all.begin(), all.end(), some.begin(), some.end());
}

}  // namespace

TEST_CASE("A running order says titles, idioms and settings; what a preset does not name is the order's or the usual",
          "[order]") {
  const auto order = good(evening);
  CHECK(order.title == "An evening");
  REQUIRE(order.presets.size() == 3);
  CHECK(order.presets[1].title == "Second");
  CHECK(order.presets[1].about == "a tone up");
  CHECK(order.presets[1].idiom == "rocking-bass");
  CHECK(order.presets[1].line == 8);
  CHECK(order.names(ParameterId::density));
  CHECK(order.names(ParameterId::transpose));
  CHECK(!order.names(ParameterId::handSplit));
  CHECK(order.valueIn(0, ParameterId::density) == 0);
  CHECK(order.valueIn(1, ParameterId::density) == 2);
  CHECK(order.valueIn(1, ParameterId::ownTempo) == 90);
  CHECK(order.valueIn(2, ParameterId::ownTempo) == 100);
  CHECK(order.valueIn(2, ParameterId::transpose) == 0);
}

TEST_CASE("Every fault of a running order is told, with file, line and column", "[order]") {
  const std::string head = "format = 1\ntitle = \"T\"\n", preset = "[[presets]]\ntitle = \"A\"\nidiom = \"waltz\"\n";
  const std::vector<std::pair<std::string, std::string>> faults{
      {head + preset + "density = \"thin\"\n",
       "e.toml:6:1: found density = \"thin\", expected \"lean\", \"medium\", \"full\""},
      {head + preset + "transpose = 40\nkeep = 3\n",
       "e.toml:6:1: found transpose = 40, expected -24 to +24 semitones\n"
       "e.toml:7:1: found keep = 3, expected true or false"},
      {head + preset + "tempo = 90\n", "e.toml:6:1: found tempo, expected title, about, idiom, or a setting by its id"},
      {head + preset + "bypass = true\n",
       "e.toml:6:1: found bypass, expected title, about, idiom, or a setting by its id"},
      {head + "[[presets]]\nidiom = \"waltz\"\n" + preset,
       "e.toml:3:1: found a preset without title, expected title and idiom of each preset"},
      {head + "[[presets]]\ntitle = \"A\"\n",
       "e.toml:3:1: found a preset without idiom, expected title and idiom of each preset"},
      {head + preset + "idiom = \"polka\"\n", "e.toml:6:1: found a second idiom, expected each key once"},
      {head + preset + "[settings]\n",
       "e.toml:6:1: found [settings] after a preset, expected [settings] once, before the first [[presets]]"},
      {head + "[preset]\n" + preset, "e.toml:3:1: found [preset], expected [settings] or [[presets]]"},
      {head, "e.toml:3:1: found the end of the file, expected a [[presets]] before it"},
      {"title = \"T\"\n" + preset, "e.toml:1:1: found no format, expected format = 1 at the beginning"},
      {"format = 2\ntitle = \"T\"\n" + preset, "e.toml:1:1: found format 2, expected format = 1"},
      {"format = 1\n" + preset, "e.toml:1:1: found no title, expected title = \"...\" before the first preset"},
      {head + "[[presets]]\ntitle = \"\"\nidiom = \"waltz\"\n",
       "e.toml:4:1: found title = \"\", expected a text in quotation marks, one line"},
  };
  for (const auto& [text, expected] : faults) CHECK(faultsOf(text) == expected);
  CHECK(faultsOf(head + preset + "about = \"open\n").starts_with("e.toml:6:"));
  CHECK(faultsOf(std::string(limits::fileBytes + 1, '#')).starts_with("e.toml:1:1: found "));
}

TEST_CASE("The running orders that come with it name idioms that are on the shelf", "[order]") {
  int count = 0;
  Shelf shelf({});
  shelf.open();
  std::set<std::string> ids;
  for (const auto slot : shelf.filled()) ids.insert(shelf.entry(slot).id);
  for (const auto& file : std::filesystem::directory_iterator(std::filesystem::path(SEGUENTE_PRESETS) / "orders")) {
    if (file.path().extension() != ".toml") continue;
    ++count;
    const auto order = good(contentsOf(file.path()));
    CHECK(order.presets.size() >= 4);
    for (const auto& preset : order.presets) {
      INFO(file.path() << ": " << preset.title);
      CHECK(ids.contains(preset.idiom));
    }
  }
  CHECK(count >= 2);
}

TEST_CASE("Next and previous go through the order that is open, to its ends; without one through the shelf",
          "[order]") {
  Stand stand("order-steps");
  stand.files.write("evening.toml", evening);
  const auto first = stand.session().slot();
  stand.block();
  CHECK(stand.orders.open("evening.toml") == "");
  CHECK(stand.orders.place() == 0);  // before a block has come
  stand.block();
  CHECK(stand.idiom() == "waltz");
  CHECK(stand.values().get(ParameterId::density) == 0);
  const auto give = [&](Signal signal) {
    stand.session().give(signal);
    stand.block();
    return stand.orders.place();
  };
  CHECK(give(Signal::previous) == 0);  // the first: nothing before it
  CHECK(give(Signal::next) == 1);
  CHECK(stand.idiom() == "rocking-bass");  // no chord sounds: at once
  CHECK(stand.values().get(ParameterId::transpose) == 2);
  CHECK(stand.values().get(ParameterId::density) == 2);
  CHECK(give(Signal::next) == 2);
  CHECK(stand.idiom() == "rocking-bass");  // "nowhere" is not here: what was, stays
  CHECK(stand.values().get(ParameterId::transpose) == 0);
  CHECK(stand.values().get(ParameterId::density) == 0);
  CHECK(give(Signal::next) == 2);  // the last
  CHECK(give(Signal::previous) == 1);
  stand.orders.close();
  stand.block();
  CHECK(stand.orders.place() == -1);
  const auto slot = stand.session().slot();
  stand.session().give(Signal::next);
  stand.block();
  CHECK(stand.session().slot() == slot + 1);
  CHECK(first >= 0);
  CHECK(stand.values().get(ParameterId::handSplit) == 0);  // nobody's: never touched
}

TEST_CASE("A preset comes in with the next bar, whole: idiom, density and transposition, the held chord too",
          "[order]") {
  // By whatever rule hands are told apart, and blocks of whatever size.
  for (const int split : {0, 1, 3})
    for (const std::int64_t size : {64, 512, 4096}) {
      INFO("hand split " << split << ", blocks of " << size);
      Stand stand("order-bar");
      stand.size = size;
      stand.values().set(ParameterId::handSplit, split);
      stand.files.write("e.toml",
                        "format = 1\ntitle = \"E\"\n[[presets]]\ntitle = \"A\"\nidiom = \"rocking-bass\"\n"
                        "density = \"lean\"\n[[presets]]\ntitle = \"B\"\nidiom = \"block-quarters\"\ntranspose = 2\n"
                        "density = \"medium\"\n");
      CHECK(stand.orders.open("e.toml") == "");
      stand.press("C3 E3 G3");
      stand.runTo(9.5);  // inside bar three
      stand.session().give(Signal::next);
      stand.runTo(9.8);
      CHECK(stand.orders.place() == 1);  // the stand says so at once
      CHECK(stand.idiom() == "rocking-bass");
      CHECK(stand.values().get(ParameterId::transpose) == 0);
      stand.runTo(20);
      CHECK(stand.idiom() == "block-quarters");
      const auto before = stand.classes(4, 12), after = stand.classes(12, 19);
      CHECK(before.contains(0));
      CHECK(within(before, {0, 4, 7, 9}));
      CHECK(after.contains(2));
      CHECK(after.contains(6));
      CHECK(within(after, dMajor));
      // On the bar line; a chord that is struck anew is gathered like any other, for 12.5 ms.
      CHECK(stand.strokes(12, 12.026) > 0);
      stand.release("C3 E3 G3");
      stand.runTo(28);
      CHECK(stand.view().held.empty());
      CHECK(stand.view().ours.empty());
      CHECK(stand.open() == 0);
    }
}

TEST_CASE("A chord that is struck a little before the bar line is of the new key already", "[order]") {
  Stand stand("order-early");
  stand.values().set(ParameterId::handSplit, 1);
  stand.files.write("e.toml",
                    "format = 1\ntitle = \"E\"\n[[presets]]\ntitle = \"A\"\nidiom = \"block-quarters\"\n"
                    "[[presets]]\ntitle = \"B\"\nidiom = \"block-quarters\"\ntranspose = 2\n");
  CHECK(stand.orders.open("e.toml") == "");
  stand.press("C3 E3 G3");
  stand.runTo(9.5);
  stand.session().give(Signal::next);
  stand.runTo(11.93);  // 35 ms before the bar line
  stand.release("C3 E3 G3");
  stand.press("F3 A3 C4", 10);
  stand.runTo(16);
  CHECK(within(stand.classes(12, 15.9), {7, 11, 2}));  // F, a tone up
  CHECK(stand.classes(12, 15.9).contains(11));
  stand.release("F3 A3 C4");
  stand.runTo(24);
  CHECK(stand.open() == 0);
}

TEST_CASE("A preset waits while a chord is held by the player's Hold, and comes when it goes on", "[order]") {
  Stand stand("order-hold");
  stand.files.write("e.toml",
                    "format = 1\ntitle = \"E\"\n[[presets]]\ntitle = \"A\"\nidiom = \"rocking-bass\"\n"
                    "[[presets]]\ntitle = \"B\"\nidiom = \"block-quarters\"\ntranspose = 2\n");
  CHECK(stand.orders.open("e.toml") == "");
  stand.press("C3 E3 G3");
  stand.runTo(9);
  stand.session().give(Signal::hold);
  stand.runTo(10);
  stand.session().give(Signal::next);
  stand.runTo(18);
  CHECK(stand.view().holding);
  CHECK(stand.values().get(ParameterId::transpose) == 0);
  stand.session().give(Signal::goOn);
  stand.runTo(24);
  CHECK(stand.values().get(ParameterId::transpose) == 2);
  CHECK(stand.idiom() == "block-quarters");
}

TEST_CASE("A running order that is saved anew while it is open is read anew, and one stays at the same piece",
          "[order]") {
  Stand stand("order-saved");
  stand.files.write("e.toml", evening);
  CHECK(stand.orders.open("e.toml") == "");
  stand.block();
  stand.orders.choose(1);
  stand.block();
  std::string more = evening;
  more.insert(more.find("[[presets]]"), "[[presets]]\ntitle = \"Before all\"\nidiom = \"polka\"\n");
  stand.files.write("e.toml", more);
  CHECK(stand.orders.look());
  stand.block();
  CHECK(stand.orders.place() == 2);
  CHECK(stand.orders.current()->presets[2].title == "Second");
  CHECK(stand.idiom() == "rocking-bass");  // nothing is set anew
  stand.session().give(Signal::previous);
  stand.session().give(Signal::previous);  // two in one block count once: a bit each
  stand.block();
  CHECK(stand.orders.place() == 1);
  stand.orders.takeMessages();
  stand.files.write("e.toml", "format = 1\n");
  stand.orders.look();
  const auto messages = stand.orders.takeMessages();
  REQUIRE(messages.size() == 1);
  CHECK(messages[0].starts_with("e.toml:"));
  CHECK(stand.orders.current()->presets.size() == 4);
}

TEST_CASE("A faulty file is not opened and says why; what was open stays", "[order]") {
  Stand stand("order-faulty");
  stand.files.write("bad.toml", "format = 1\ntitle = \"x\"\n[[presets]]\ntitle = \"y\"\n");
  stand.files.write("evening.toml", evening);
  CHECK(stand.orders.open("evening.toml") == "");
  const auto fault = stand.orders.open("bad.toml");
  CHECK(fault == "bad.toml:3:1: found a preset without idiom, expected title and idiom of each preset");
  CHECK(stand.orders.name() == "evening.toml");
  const auto list = stand.orders.entries();
  REQUIRE(list.size() == 2);
  CHECK(list[0].title == "An evening");
  CHECK(list[1].title == "");
  bool told = false;
  for (const auto& message : stand.orders.takeMessages())
    told = told || message.starts_with("evening.toml:15:1: found no idiom \"nowhere\" for Third");
  CHECK(told);
}

TEST_CASE("What is set now is written to the end of the order that is open, and nothing that stands there changes",
          "[order]") {
  Stand stand("order-add");
  const std::string with = std::string(evening) + "# a remark at the end, without a line end";
  stand.files.write("e.toml", with);
  CHECK(stand.orders.open("e.toml") == "");
  stand.block();
  stand.values().set(ParameterId::idiom, 0);
  stand.values().set(ParameterId::transpose, -3);
  stand.values().set(ParameterId::swing, 1.5);
  stand.values().set(ParameterId::splitKey, 50);  // the player's, not the piece's
  CHECK(stand.orders.add("Good night", "berceuse", stand.values()) == "");
  const auto text = contentsOf(stand.files.path / "e.toml");
  CHECK(text == with +
                    "\n\n[[presets]]\ntitle = \"Good night\"\nidiom = \"berceuse\"\ndensity = \"lean\"\nswing = 1.50\n"
                    "transpose = -3\nown-tempo = 100.0\n");
  CHECK(stand.orders.current()->presets.size() == 4);
  CHECK(stand.orders.place() == 0);

  CHECK(stand.orders.begin("New", "One", "waltz", stand.values()) == "");
  CHECK(stand.orders.name() == "order.toml");
  CHECK(stand.orders.begin("New", "One", "waltz", stand.values()) == "");
  CHECK(stand.orders.name() == "order-2.toml");  // nothing is written over
  CHECK(good(contentsOf(stand.files.path / "order-2.toml"))
            .presets[0]
            .settings[static_cast<std::size_t>(ParameterId::transpose)] == -3.0);
}

TEST_CASE("A session opens its order where it was, and sets nothing anew", "[order]") {
  Stand stand("order-session");
  stand.orders.restore(SavedOrder{"far-away.toml", evening, 1});
  stand.values().set(ParameterId::transpose, 5);  // moved by hand since
  stand.block();
  CHECK(stand.orders.place() == 1);
  CHECK(stand.orders.current()->title == "An evening");
  CHECK(stand.values().get(ParameterId::transpose) == 5);
  const auto saved = stand.orders.save();
  REQUIRE(saved);
  CHECK(saved->name == "far-away.toml");
  CHECK(saved->text == evening);
  CHECK(saved->place == 1);
  stand.session().give(Signal::previous);
  stand.block();
  CHECK(stand.idiom() == "waltz");
  stand.orders.restore(SavedOrder{"far-away.toml", "rubbish", 1});
  CHECK(!stand.orders.save());
  stand.orders.restore(std::nullopt);
  stand.block();
  CHECK(stand.orders.place() == -1);
}
