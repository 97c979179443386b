// The idioms of one instance: shipped ones in their slots for ever, the player's own as they are saved, a session's as
// it was left.
#include <cstdlib>
#include <fstream>
#include <map>
#include <optional>
#include <set>
#include <sstream>

#include "dsp/idiom_family.h"
#include "dsp/idiom_file.h"
#include "plugin/parameters.h"
#include "plugin/shelf.h"
#include "plugin/shipped_idioms.h"
#include "tests/catch.h"
#include "tests/plugin/own_files.h"

using namespace seguente;
using namespace seguente::test;

namespace {

/// The table that the audio thread would read now.
SlotTable taken(Shelf& shelf) {
  Lent<SlotTable> lent;
  REQUIRE(shelf.lent().take(lent));
  return *lent.value;
}

std::string wholeFile(const std::filesystem::path& path) {
  std::ifstream stream(path, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  return text.str();
}

/// A shipped idiom as it may have been in an earlier version: under another title.
std::string titled(const std::string& title, std::size_t slot) {
  std::string text(shippedIdioms()[slot].text);
  const auto line = text.find("title ");
  return text.replace(line, text.find('\n', line) - line, "title = \"" + title + '"');
}

std::size_t slotOf(const Shelf& shelf, const std::string& id) {
  for (std::size_t slot = slotCount; slot-- > 0;)
    if (shelf.entry(slot).id == id) return slot;
  return slotCount;
}

std::string titleOf(const Shelf& shelf, std::size_t slot) { return shelf.entry(slot).title; }

SavedSlot saved(int slot, const std::string& id, const std::string& text) { return {slot, id, text}; }

constexpr std::size_t waltz = 1, march = 14;  // patterns/slots.txt

/// The slots of all that is shipped, and these after them.
std::vector<std::size_t> shippedAnd(const std::vector<std::size_t>& more) {
  std::vector<std::size_t> slots;
  for (const auto& idiom : shippedIdioms()) slots.push_back(idiom.slot);
  slots.insert(slots.end(), more.begin(), more.end());
  return slots;
}

}  // namespace

TEST_CASE("A shipped idiom never leaves its slot: sessions and program changes name it by the number", "[plugin]") {
  // A copy of the list as it first went out; patterns/slots.txt may only grow beyond it.
  const std::map<std::size_t, std::string> first{{0, "held-chords"},  {1, "waltz"},         {2, "broken-bass"},
                                                 {3, "rocking-bass"}, {4, "blues-shuffle"}, {5, "walking-bass"},
                                                 {6, "bossa-nova"}};
  std::map<std::size_t, std::string> now;
  for (const auto& shipped : shippedIdioms()) now[shipped.slot] = shipped.id;
  for (const auto& [slot, id] : first) CHECK(now[slot] == id);
}

TEST_CASE("Every pattern file is shipped once, with its whole text and its own title", "[plugin]") {
  std::set<std::string> ids, files;
  std::set<std::size_t> slots;
  for (const auto& shipped : shippedIdioms()) {
    INFO(shipped.id);
    CHECK(ids.insert(shipped.id).second);
    CHECK(slots.insert(shipped.slot).second);
    CHECK(shipped.slot < slotCount);
    CHECK(shipped.text == wholeFile(std::filesystem::path(SEGUENTE_PATTERNS) / (std::string(shipped.id) + ".toml")));
    const auto compiled = compileIdiom(shipped.text, std::string(shipped.id) + ".toml");
    REQUIRE(compiled.idiom != nullptr);
    CHECK(compiled.idiom->title == shipped.title);
    CHECK(shippedTitle(shipped.slot) == compiled.idiom->title);
  }
  for (const auto& file : std::filesystem::directory_iterator(SEGUENTE_PATTERNS))
    if (file.path().extension() == ".toml") files.insert(file.path().stem().string());
  CHECK(ids == files);
  CHECK(std::string(shippedTitle(127)).empty());
}

TEST_CASE("A shelf that nobody has opened holds and lends nothing, and looks at no folder", "[plugin]") {
  OwnFiles own("unopened");
  own.write("mine.toml", "rubbish");
  Shelf shelf(own.path);
  Lent<SlotTable> lent;
  CHECK_FALSE(shelf.look());
  CHECK_FALSE(shelf.lent().take(lent));
  CHECK(shelf.filled().empty());
  CHECK(shelf.takeMessages().empty());
}

TEST_CASE("An opened shelf lends the shipped idioms with their relatives in other meters", "[plugin]") {
  Shelf shelf({});
  shelf.open();
  const auto table = taken(shelf);
  REQUIRE(table.idioms[waltz] != nullptr);
  REQUIRE(table.idioms[march] != nullptr);
  CHECK(table.idioms[waltz]->id == "waltz");
  CHECK(inMeter(*table.idioms[waltz], {2, 4}) == table.idioms[march]);
  CHECK(inMeter(*table.idioms[march], {3, 4}) == table.idioms[waltz]);
  CHECK(table.idioms[100] == nullptr);
  CHECK(shelf.entry(waltz).origin == SlotOrigin::shipped);
  CHECK(shelf.entry(waltz).meter == Meter{3, 4});
  CHECK(shelf.filled() == shippedAnd({}));
  CHECK(shelf.takeMessages().empty());
  Lent<SlotTable> again;
  shelf.open();
  CHECK_FALSE(shelf.lent().take(again));
}

TEST_CASE("Instances share what is shipped, and what a session changes is changed for it alone", "[plugin]") {
  Shelf one({}), other({});
  one.open();
  other.open();
  const auto before = taken(one), others = taken(other);
  for (const auto& shipped : shippedIdioms()) CHECK(before.idioms[shipped.slot] == others.idioms[shipped.slot]);
  one.restore({saved(waltz, "waltz", titled("Waltz as it was", waltz))});
  CHECK(titleOf(one, waltz) == "Waltz as it was");
  CHECK(titleOf(other, waltz) == shippedTitle(waltz));
  // Who plays the waltz in three for another idiom plays this session's; the others' is as it was.
  const auto after = taken(one);
  CHECK(inMeter(*after.idioms[march], {3, 4})->title == "Waltz as it was");
  CHECK(inMeter(*before.idioms[march], {3, 4})->title == shippedTitle(waltz));
}

TEST_CASE("The player's own idioms take slots from the top down and keep them", "[plugin]") {
  OwnFiles own("own_slots");
  own.write("b.toml", smallIdiom("b", "Bee"));
  own.write("c.toml", smallIdiom("c", "Sea"));
  own.write("notes.txt", "no idiom");
  Shelf shelf(own.path);
  shelf.open();
  CHECK(titleOf(shelf, 127) == "Bee");
  CHECK(titleOf(shelf, 126) == "Sea");
  own.write("a.toml", smallIdiom("a", "Eh"));
  CHECK(shelf.look());
  CHECK(titleOf(shelf, 127) == "Bee");
  CHECK(titleOf(shelf, 125) == "Eh");
  CHECK(shelf.entry(125).origin == SlotOrigin::yours);
  CHECK(shelf.filled() == shippedAnd({127, 126, 125}));
  CHECK(shelf.takeMessages().empty());
}

TEST_CASE("The next idiom is the one below it in the list, round its ends", "[plugin]") {
  OwnFiles own("next");
  own.write("a.toml", smallIdiom("a"));
  own.write("b.toml", smallIdiom("b"));
  Shelf shelf(own.path);
  CHECK(SlotTable{}.beside(3, 1) == 3);
  shelf.restore({saved(90, "s", smallIdiom("s"))});
  const auto table = taken(shelf);
  const auto list = shippedAnd({127, 126, 90});
  REQUIRE(shelf.filled() == list);
  for (std::size_t i = 0; i < list.size(); ++i) {
    CHECK(table.beside(list[i], 1) == list[(i + 1) % list.size()]);
    CHECK(table.beside(list[(i + 1) % list.size()], -1) == list[i]);
  }
  CHECK(table.beside(99, 1) == 0);  // from an empty slot
  CHECK(table.beside(99, -1) == 90);
}

TEST_CASE("A file that comes while a session plays its idiom takes the session's slot", "[plugin]") {
  OwnFiles own("comes");
  Shelf shelf(own.path);
  shelf.restore({saved(90, "mine", smallIdiom("mine", "As saved"))});
  own.write("mine.toml", smallIdiom("mine", "As installed"));
  own.write("waltz.toml", smallIdiom("waltz", "My waltz"));
  CHECK(shelf.look());
  CHECK(titleOf(shelf, 90) == "As installed");
  CHECK(shelf.entry(90).origin == SlotOrigin::yours);
  CHECK(titleOf(shelf, 127) == "My waltz");
}

TEST_CASE("An idiom that becomes the player's own without a change moves in the list, and nothing jolts", "[plugin]") {
  OwnFiles own("becomes");
  own.write("a.toml", smallIdiom("a"));
  Shelf shelf(own.path);
  shelf.restore({saved(90, "mine", smallIdiom("mine")), saved(95, "s", smallIdiom("s"))});
  const auto before = taken(shelf);
  CHECK(shelf.filled() == shippedAnd({127, 95, 90}));
  own.write("mine.toml", smallIdiom("mine"));
  CHECK(shelf.look());
  CHECK(shelf.filled() == shippedAnd({127, 90, 95}));
  const auto after = taken(shelf);
  CHECK(after.idioms == before.idioms);
  CHECK(after.beside(90, 1) == 95);
}

TEST_CASE("A folder that is not there is no fault, and is found when it comes", "[plugin]") {
  OwnFiles own("late");
  Shelf shelf(own.path / "idioms");
  shelf.open();
  CHECK_FALSE(shelf.look());
  std::filesystem::create_directories(own.path / "idioms");
  own.write("idioms/late.toml", smallIdiom("late"));
  CHECK(shelf.look());
  CHECK(slotOf(shelf, "late") == 127);
  CHECK(shelf.takeMessages().empty());
}

TEST_CASE("A file that is saved anew is lent anew; what did not change is the very same", "[plugin]") {
  OwnFiles own("reload");
  own.write("leader.toml", smallIdiom("leader", "Leader"));
  own.write("follower.toml", smallIdiom("follower", "Follower", "\"2/4\" = \"leader\""));
  own.write("loner.toml", smallIdiom("loner", "Loner", "\"3/4\" = \"waltz\""));
  Shelf shelf(own.path);
  shelf.open();
  const auto before = taken(shelf);
  const auto leader = slotOf(shelf, "leader"), follower = slotOf(shelf, "follower"), loner = slotOf(shelf, "loner");
  const auto changes = shelf.changes();
  CHECK_FALSE(shelf.look());
  CHECK(shelf.changes() == changes);

  own.write("leader.toml", smallIdiom("leader", "Leader", "", "5"));
  CHECK(shelf.look());
  CHECK(shelf.changes() != changes);
  const auto after = taken(shelf);
  CHECK(after.idioms[leader] != before.idioms[leader]);
  CHECK(after.idioms[leader]->steps[0].play.degrees[0].number == 5);
  CHECK(after.idioms[follower] != before.idioms[follower]);  // names the leader
  CHECK(inMeter(*after.idioms[follower], {2, 4}) == after.idioms[leader]);
  CHECK(after.idioms[loner] == before.idioms[loner]);
  CHECK(inMeter(*after.idioms[loner], {3, 4}) == after.idioms[waltz]);
  for (const auto& shipped : shippedIdioms()) CHECK(after.idioms[shipped.slot] == before.idioms[shipped.slot]);
  CHECK(before.idioms[leader]->steps[0].play.degrees[0].number == 1);  // still lent: nobody has let go of it
}

TEST_CASE("A file touched without a change makes no new table", "[plugin]") {
  OwnFiles own("touched");
  own.write("mine.toml", smallIdiom("mine"));
  Shelf shelf(own.path);
  shelf.open();
  own.write("mine.toml", smallIdiom("mine"));
  CHECK_FALSE(shelf.look());
}

TEST_CASE("A bad file is refused with its message once, and the old one plays on", "[plugin]") {
  OwnFiles own("bad");
  own.write("mine.toml", smallIdiom("mine"));
  Shelf shelf(own.path);
  shelf.open();
  const auto before = taken(shelf);
  const auto half = smallIdiom("mine").substr(0, 120);
  own.write("mine.toml", half);
  CHECK_FALSE(shelf.look());
  auto messages = shelf.takeMessages();
  REQUIRE(messages.size() == 1);
  CHECK(messages[0].starts_with("mine.toml:"));
  CHECK(messages[0].find("expected") != std::string::npos);
  CHECK(messages[0].find('\n') == std::string::npos);
  CHECK(messages[0].find(own.path.string()) == std::string::npos);
  own.write("mine.toml", half);  // saved again with the same fault
  CHECK_FALSE(shelf.look());
  CHECK(shelf.takeMessages().empty());
  Lent<SlotTable> lent;
  CHECK_FALSE(shelf.lent().take(lent));
  own.write("mine.toml", smallIdiom("mine", "Whole again"));
  CHECK(shelf.look());
  CHECK(titleOf(shelf, 127) == "Whole again");
  CHECK(taken(shelf).idioms[127] != before.idioms[127]);
  own.write("mine.toml", half);  // and the same fault anew is told anew
  shelf.look();
  CHECK(shelf.takeMessages().size() == 1);
}

TEST_CASE("A file called otherwise than its id, too large, or a folder is refused with a word or passed over",
          "[plugin]") {
  OwnFiles own("odd");
  own.write("other.toml", smallIdiom("mine"));
  own.write("large.toml", smallIdiom("large") + std::string(300000, '#'));
  std::filesystem::create_directories(own.path / "folder.toml");
  Shelf shelf(own.path);
  shelf.open();
  const auto messages = shelf.takeMessages();
  REQUIRE(messages.size() == 2);
  CHECK(messages[0].starts_with("large.toml:1:1: "));
  CHECK(messages[1].starts_with("other.toml:2:6: "));
  CHECK(shelf.filled().size() == shippedIdioms().size());
}

TEST_CASE("An own idiom with a shipped one's id stands beside it, and relatives mean the shipped one", "[plugin]") {
  OwnFiles own("clash");
  own.write("waltz.toml", smallIdiom("waltz", "My waltz"));
  Shelf shelf(own.path);
  shelf.open();
  CHECK(titleOf(shelf, waltz) == "Waltz");
  CHECK(titleOf(shelf, 127) == "My waltz");
  const auto table = taken(shelf);
  CHECK(inMeter(*table.idioms[march], {3, 4}) == table.idioms[waltz]);
  const auto messages = shelf.takeMessages();
  REQUIRE(messages.size() == 1);
  CHECK(messages[0].starts_with("waltz.toml: "));
}

TEST_CASE("A relative that is nowhere is told, and found when it comes", "[plugin]") {
  OwnFiles own("absent");
  own.write("mine.toml", smallIdiom("mine", "Mine", "\"2/4\" = \"later\""));
  Shelf shelf(own.path);
  shelf.open();
  CHECK(shelf.takeMessages() ==
        std::vector<std::string>{"mine: found relative 2/4 = \"later\", expected an installed idiom without faults"});
  CHECK(inMeter(*taken(shelf).idioms[127], {2, 4}) == nullptr);
  own.write("later.toml", smallIdiom("later"));
  CHECK(shelf.look());
  const auto table = taken(shelf);
  CHECK(inMeter(*table.idioms[127], {2, 4}) == table.idioms[126]);
  CHECK(shelf.takeMessages().empty());
}

TEST_CASE("An idiom whose file is deleted stays while the session is open", "[plugin]") {
  OwnFiles own("deleted");
  own.write("mine.toml", smallIdiom("mine"));
  Shelf shelf(own.path);
  shelf.open();
  own.remove("mine.toml");
  shelf.look();
  CHECK(shelf.takeMessages().empty());  // editors delete and rename when they save: not gone until a second look
  CHECK_FALSE(shelf.look());
  CHECK(shelf.takeMessages() ==
        std::vector<std::string>{"mine.toml is gone; its idiom stays until this session is closed"});
  shelf.look();
  CHECK(shelf.takeMessages().empty());
  CHECK(slotOf(shelf, "mine") == 127);
  own.write("another.toml", smallIdiom("another"));
  own.write("mine.toml", smallIdiom("mine", "Back"));
  CHECK(shelf.look());
  CHECK(titleOf(shelf, 127) == "Back");
  CHECK(slotOf(shelf, "another") == 126);
}

TEST_CASE("When all slots are taken a further file is told so", "[plugin]") {
  OwnFiles own("full");
  const auto room = slotCount - shippedIdioms().size();
  for (std::size_t i = 0; i <= room; ++i) {
    const auto id = "n" + std::to_string(1000 + i);
    own.write(id + ".toml", smallIdiom(id));
  }
  Shelf shelf(own.path);
  shelf.open();
  CHECK(shelf.filled().size() == slotCount);
  const auto messages = shelf.takeMessages();
  REQUIRE(messages.size() == 1);
  CHECK(messages[0] == "n" + std::to_string(1000 + room) + ".toml: all 128 slots are taken");
}

TEST_CASE("A saved session holds every slot in use with its whole text, and restoring it changes nothing", "[plugin]") {
  OwnFiles own("save");
  own.write("mine.toml", smallIdiom("mine"));
  Shelf shelf(own.path);
  shelf.open();
  const auto before = taken(shelf);
  const auto session = shelf.save();
  REQUIRE(session.size() == shippedIdioms().size() + 1);
  CHECK(session[waltz].id == "waltz");
  CHECK(session[waltz].text == wholeFile(SEGUENTE_PATTERNS "/waltz.toml"));
  CHECK(session.back().slot == 127);
  CHECK(session.back().text == smallIdiom("mine"));
  const auto changes = shelf.changes();
  shelf.restore(session);
  Lent<SlotTable> lent;
  CHECK_FALSE(shelf.lent().take(lent));  // the same objects: nothing jolts
  CHECK(shelf.changes() == changes);
  CHECK(shelf.takeMessages().empty());
  CHECK(before.idioms[127]->title == "Small");
}

TEST_CASE("Of what is shipped a session holds only what has been chosen in it, of the player's own all", "[plugin]") {
  OwnFiles own("chosen");
  own.write("mine.toml", smallIdiom("mine"));
  ParameterValues values;
  values.set(ParameterId::idiom, 5);
  values.set(ParameterId::idiom, static_cast<double>(waltz));
  Shelf shelf(own.path);
  const auto session = shelf.save(values.used());
  REQUIRE(session.size() == 3);
  CHECK(session[0].slot == static_cast<int>(waltz));
  CHECK(session[0].text == wholeFile(SEGUENTE_PATTERNS "/waltz.toml"));
  CHECK(session[1].slot == 5);
  CHECK(session[2].id == "mine");
  const auto before = taken(shelf);
  shelf.restore(session);  // what it does not name holds what is installed
  for (std::size_t slot = 0; slot < slotCount; ++slot)
    CHECK((shelf.idiom(slot) != nullptr) == (before.idioms[slot] != nullptr));
  ParameterValues later;
  for (const auto& saved : session) later.use(static_cast<std::size_t>(saved.slot));
  CHECK(shelf.save(later.used()).size() == 4);  // the slot that is chosen at the beginning is one of them
}

TEST_CASE("A session opens the same where its idiom is not installed, and says so", "[plugin]") {
  OwnFiles here("here");
  here.write("mine.toml", smallIdiom("mine", "Mine"));
  Shelf first(here.path);
  first.open();
  const auto session = first.save();
  Shelf elsewhere({});
  elsewhere.restore(session);
  CHECK(titleOf(elsewhere, 127) == "Mine");
  CHECK(elsewhere.entry(127).origin == SlotOrigin::session);
  CHECK(elsewhere.takeMessages() == std::vector<std::string>{"Not installed here, played from this session: Mine"});
  const auto again = elsewhere.save();
  REQUIRE(again.size() == session.size());
  for (std::size_t i = 0; i < session.size(); ++i) {
    CHECK(again[i].slot == session[i].slot);
    CHECK(again[i].text == session[i].text);
  }
  elsewhere.restore(session);
  CHECK(elsewhere.takeMessages().empty());  // told once
}

TEST_CASE("The session's text wins over what is installed, until the player saves the file again", "[plugin]") {
  OwnFiles own("wins");
  own.write("mine.toml", smallIdiom("mine", "As installed"));
  Shelf shelf(own.path);
  shelf.open();
  shelf.restore({saved(127, "mine", smallIdiom("mine", "As saved")), saved(1, "waltz", titled("Old waltz", waltz))});
  CHECK(titleOf(shelf, 127) == "As saved");
  CHECK(titleOf(shelf, waltz) == "Old waltz");
  CHECK(titleOf(shelf, 0) == "Held chords");
  CHECK(shelf.takeMessages() ==
        std::vector<std::string>{"Played as this session was saved, not as installed here: Old waltz, As saved"});
  CHECK_FALSE(shelf.look());
  CHECK(titleOf(shelf, 127) == "As saved");
  own.write("mine.toml", smallIdiom("mine", "Newest"));
  CHECK(shelf.look());
  CHECK(titleOf(shelf, 127) == "Newest");
  CHECK(shelf.entry(127).origin == SlotOrigin::yours);
}

TEST_CASE("An own file moves to the slot in which a session knows it, or makes room for the session's idiom",
          "[plugin]") {
  OwnFiles own("moves");
  own.write("mine.toml", smallIdiom("mine", "Mine"));
  own.write("tango.toml", smallIdiom("tango", "Tango"));
  Shelf shelf(own.path);
  shelf.open();
  REQUIRE(slotOf(shelf, "mine") == 127);
  shelf.restore(
      {saved(120, "mine", smallIdiom("mine", "Mine as saved")), saved(126, "other", smallIdiom("other", "Other"))});
  CHECK(titleOf(shelf, 120) == "Mine as saved");
  CHECK(titleOf(shelf, 126) == "Other");
  CHECK(titleOf(shelf, 127) == "Tango");
  own.write("mine.toml", smallIdiom("mine", "Mine anew"));
  own.write("tango.toml", smallIdiom("tango", "Tango anew"));
  shelf.look();
  CHECK(titleOf(shelf, 120) == "Mine anew");
  CHECK(titleOf(shelf, 127) == "Tango anew");
  CHECK(titleOf(shelf, 126) == "Other");
}

TEST_CASE("One session after another: each leaves nothing behind", "[plugin]") {
  OwnFiles own("after");
  own.write("mine.toml", smallIdiom("mine", "Mine"));
  Shelf shelf(own.path);
  shelf.restore({saved(90, "first", smallIdiom("first", "First")), saved(1, "waltz", titled("Old waltz", waltz))});
  CHECK(titleOf(shelf, 90) == "First");
  shelf.restore({saved(91, "second", smallIdiom("second", "Second"))});
  CHECK(shelf.entry(90).origin == SlotOrigin::empty);
  CHECK(titleOf(shelf, 91) == "Second");
  CHECK(titleOf(shelf, waltz) == "Waltz");
  CHECK(shelf.entry(waltz).origin == SlotOrigin::shipped);
  CHECK(titleOf(shelf, 127) == "Mine");
  shelf.restore({});  // settings alone
  CHECK(titleOf(shelf, 91) == "Second");
}

TEST_CASE("A session's text that does not compile is a message, and the slot keeps what it has", "[plugin]") {
  Shelf shelf({});
  shelf.restore({saved(1, "waltz", "format = 2"), saved(99, "lost", ""), saved(100, "good", smallIdiom("good", "Good")),
                 saved(-1, "no", smallIdiom("no")), saved(128, "no", smallIdiom("no"))});
  CHECK(titleOf(shelf, waltz) == "Waltz");
  CHECK(shelf.entry(99).origin == SlotOrigin::empty);
  CHECK(titleOf(shelf, 100) == "Good");
  const auto messages = shelf.takeMessages();
  REQUIRE(messages.size() == 3);
  CHECK(messages[0].starts_with("waltz of this session:1:"));
  CHECK(messages[1].starts_with("lost of this session:1:1: "));
}

TEST_CASE("What the audio thread has let go of is freed, and not before", "[plugin]") {
  OwnFiles own("freed");
  own.write("mine.toml", smallIdiom("mine", "0"));
  Shelf shelf(own.path);
  shelf.open();
  Lent<SlotTable> lent;
  REQUIRE(shelf.lent().take(lent));
  for (int i = 1; i <= 50; ++i) {
    own.write("mine.toml", smallIdiom("mine", std::to_string(i)));
    shelf.look();
    CHECK(shelf.lent().kept() == static_cast<std::size_t>(i) + 1);
  }
  CHECK(lent.value->idioms[127]->title == "0");
  REQUIRE(shelf.lent().take(lent));
  shelf.lent().acknowledge(lent.generation - 1);
  shelf.look();
  CHECK(shelf.lent().kept() == 1);
  CHECK(lent.value->idioms[127]->title == "50");
}

TEST_CASE("The player's folder is where the desktop keeps people's data", "[plugin]") {
  struct Environment {
    explicit Environment(const char* n) : name(n) {
      if (const char* value = std::getenv(n)) before = value;
    }
    ~Environment() {
      if (before)
        setenv(name, before->c_str(), 1);
      else
        unsetenv(name);
    }
    const char* name;
    std::optional<std::string> before;
  };
  const Environment data("XDG_DATA_HOME"), home("HOME");
  setenv("XDG_DATA_HOME", "/somewhere/data", 1);
  CHECK(ownIdiomsFolder() == "/somewhere/data/seguente/idioms");
  setenv("XDG_DATA_HOME", "not/absolute", 1);
  setenv("HOME", "/somebody", 1);
  CHECK(ownIdiomsFolder() == "/somebody/.local/share/seguente/idioms");
  unsetenv("XDG_DATA_HOME");
  unsetenv("HOME");
  CHECK(ownIdiomsFolder().empty());
}
