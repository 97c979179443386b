// Files that are dropped on the window: taken among the player's own, never over another, with every fault told.
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "plugin/dropped_file.h"
#include "plugin/editor/question.h"
#include "tests/catch.h"
#include "tests/editor/desk.h"
#include "tests/plugin/own_files.h"

using namespace seguente;
using namespace seguente::test;
using juce::KeyPress;

namespace {

/// A home for one test; what is dropped comes from `from`.
class DropHome {
 public:
  DropHome() : home("drop-home"), from("drop-from"), before_(std::getenv("XDG_DATA_HOME")) {
    setenv("XDG_DATA_HOME", home.path.c_str(), 1);
  }
  ~DropHome() { setenv("XDG_DATA_HOME", before_.c_str(), 1); }
  std::string there(const std::string& name) const {
    std::ifstream file(home.path / "seguente" / name, std::ios::binary);
    if (!file) return "nothing";
    std::stringstream text;
    text << file.rdbuf();
    return text.str();
  }
  std::size_t count() const {
    std::size_t files = 0;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(home.path)) files += entry.is_regular_file();
    return files;
  }
  OwnFiles home, from;

 private:
  std::string before_;
};

void drop(Desk& desk, const DropHome& home, const juce::StringArray& names) {
  juce::StringArray paths;
  for (const auto& name : names) paths.add(juce::String((home.from.path / name.toStdString()).string()));
  REQUIRE(desk.window().isInterestedInFileDrag(paths));
  desk.window().filesDropped(paths, 10, 10);
  desk.play(1);
}

screen::Question* question(Desk& desk) {
  for (auto* element : shownElements(desk))
    if (auto* asked = dynamic_cast<screen::Question*>(element)) return asked;
  return nullptr;
}

std::string lastMessage(Desk& desk) {
  desk.play(1);
  const auto all = desk.processor().messages();
  return all.empty() ? std::string() : all.back();
}

constexpr const char* order =
    "format = 1\ntitle = \"Garden\"\n[[presets]]\ntitle = \"Clementine\"\nidiom = \"country-waltz\"\n";

}  // namespace

TEST_CASE("A pattern file that is dropped is taken under its id; a running order under its own name") {
  DropHome home;
  Desk desk;
  home.from.write("downloaded (1).toml", smallIdiom("gentle", "Gentle"));
  home.from.write("garden.toml", order);
  drop(desk, home, {"downloaded (1).toml", "garden.toml"});
  CHECK(home.there("idioms/gentle.toml") == smallIdiom("gentle", "Gentle"));
  CHECK(home.there("orders/garden.toml") == order);
  CHECK(question(desk) == nullptr);
  CHECK(lastMessage(desk) == "garden.toml stands under Order now.");
  desk.processor().tick();
  bool onShelf = false;
  for (const auto slot : desk.processor().shelf().filled())
    onShelf = onShelf || desk.processor().shelf().entry(slot).id == "gentle";
  CHECK(onShelf);
  REQUIRE(desk.processor().orders().entries().size() == 1);
  CHECK(desk.processor().orders().entries()[0].title == "Garden");

  drop(desk, home, {"garden.toml"});
  CHECK(lastMessage(desk) == "garden.toml is there already, to the letter.");
  CHECK(home.count() == 2);
}

TEST_CASE("A name that is taken asks, nothing is written over, and a key that was meant for something else keeps all") {
  DropHome home;
  Desk desk;
  home.from.write("gentle.toml", smallIdiom("gentle", "Gentle"));
  drop(desk, home, {"gentle.toml"});
  home.from.write("gentle.toml", smallIdiom("gentle", "Another"));
  home.from.write("garden.toml", order);
  drop(desk, home, {"gentle.toml", "garden.toml"});
  auto* asked = question(desk);
  REQUIRE(asked != nullptr);
  CHECK(asked->getTitle().contains("gentle.toml is there already"));
  CHECK(home.there("idioms/gentle.toml") == smallIdiom("gentle", "Gentle"));
  CHECK(home.there("orders/garden.toml") == "nothing");  // waits its turn
  for (const auto& text : asked->texts()) {
    CHECK(asked->getLocalBounds().contains(text.area));
    CHECK(screen::widthOf(text.font, text.text) <= text.area.getWidth());
  }
  for (const auto& target : asked->targets()) CHECK(target.getHeight() >= screen::smallestTarget);
  CHECK(pressKey(*asked, KeyPress::returnKey));
  CHECK(question(desk) == nullptr);
  CHECK(home.there("orders/garden.toml") == order);
  CHECK(home.count() == 2);

  drop(desk, home, {"gentle.toml"});
  REQUIRE(question(desk) == asked);
  CHECK(pressKey(*asked, KeyPress::leftKey));
  CHECK(pressKey(*asked, KeyPress::returnKey));
  CHECK(home.there("idioms/gentle.toml") == smallIdiom("gentle", "Gentle"));
  CHECK(home.there("idioms/gentle-2.toml") == smallIdiom("gentle-2", "Another"));  // its id is its file's name
  CHECK(lastMessage(desk) == "gentle-2.toml is among your own idioms now.");

  drop(desk, home, {"gentle.toml"});
  REQUIRE(question(desk) == asked);
  CHECK(pressKey(*asked, KeyPress::escapeKey));
  CHECK(question(desk) == nullptr);
  CHECK(home.count() == 3);
}

TEST_CASE("A file that is kept beside another bears its new name however its id is written") {
  DropHome home;
  const auto folder = home.home.path / "seguente" / "idioms";
  for (const std::string text :
       {"# id = \"none\"\nid = \"slow\"\n  ", "\t\"id\"   = 'slow' # mine\n\n \t", "id=\"slow\""}) {
    const auto name = freeName(folder, "slow.toml");
    CHECK(keepDropped(folder, name, text) == KeptAs::kept);
    CHECK(keepDropped(folder, name, text) == KeptAs::same);
    CHECK(keepDropped(folder, name, text + " ") == KeptAs::taken);
    auto wanted = text;
    wanted.replace(text.find("slow"), 4, std::filesystem::path(name).stem().string());
    CHECK(home.there("idioms/" + name) == wanted);
  }
  const std::string none = "title = 'no id'\n   ";  // nothing to change, and no fault of ours
  CHECK(keepDropped(folder, "none.toml", none) == KeptAs::kept);
  CHECK(home.there("idioms/none.toml") == none);
}

TEST_CASE("A faulty file that is dropped says all its faults, and is not taken") {
  DropHome home;
  Desk desk;
  auto text = smallIdiom("gentle");
  text.replace(text.find("\"4/4\""), 5, "\"4/5\"");
  text.replace(text.find("[60, 120]"), 9, "[120, 60]");
  home.from.write("bad.toml", text);
  home.from.write("order.toml", "format = 1\n[[presets]]\ntitle = \"A\"\n");
  home.from.write("rubbish.toml", std::string("\0\x01\xFF[[", 5));
  home.from.write("large.toml", std::string(limits::fileBytes + 10, '#'));
  drop(desk, home, {"bad.toml", "order.toml", "rubbish.toml", "large.toml"});
  std::string all;
  for (const auto& message : desk.processor().messages()) all += message + "\n";
  CHECK(all.find("bad.toml:5:") != std::string::npos);
  CHECK(all.find("bad.toml:6:") != std::string::npos);
  CHECK(all.find("order.toml:2:1: found a preset without idiom") != std::string::npos);
  CHECK(all.find("rubbish.toml:1:") != std::string::npos);
  CHECK(all.find("large.toml:1:") != std::string::npos);
  CHECK(home.count() == 0);
  CHECK_FALSE(desk.window().isInterestedInFileDrag({"/somewhere/song.mid"}));
}
