// The shelf of installed idioms: found by any of their names, read once, relatives resolved.
#include <filesystem>
#include <fstream>

#include "dsp/idiom_file.h"
#include "tests/catch.h"
#include "tests/idiom_file/good_file.h"

using namespace seguente;
namespace fs = std::filesystem;

namespace {

/// A folder of its own for each test, gone afterwards.
struct Folder {
  explicit Folder(const std::string& name) : path(fs::temp_directory_path() / ("seguente_" + name)) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path, ignored);
  }
  void write(const std::string& file, const std::string& text) const { std::ofstream(path / file) << text; }
  fs::path path;
};

std::string foundAs(IdiomLibrary& library, std::string_view name) {
  std::vector<Fault> faults;
  const auto* idiom = library.find(name, faults);
  return idiom != nullptr ? idiom->id : "none";
}

}  // namespace

TEST_CASE("An idiom is found by its id, its title, its other names, and its path", "[idiom_file]") {
  IdiomLibrary library({SEGUENTE_PATTERNS});
  CHECK(foundAs(library, "waltz") == "waltz");
  CHECK(foundAs(library, "Waltz") == "waltz");
  CHECK(foundAs(library, "blues shuffle") == "blues-shuffle");
  CHECK(foundAs(library, "Oom-Pah-Pah") == "waltz");
  CHECK(foundAs(library, "boogie") == "boogie-woogie");
  CHECK(foundAs(library, "broken chord") == "broken-bass");
  CHECK(foundAs(library, SEGUENTE_PATTERNS "/bossa-nova.toml") == "bossa-nova");
  CHECK(foundAs(library, "no such idiom at all") == "none");
  CHECK(foundAs(library, "no/such/file.toml") == "none");
}

TEST_CASE("A mistyped idiom is answered with the nearest one", "[idiom_file]") {
  IdiomLibrary library({SEGUENTE_PATTERNS});
  CHECK(library.nearest("walz") == "waltz");
  CHECK(library.nearest("Bosa Nova") == "bossa-nova");
  CHECK(library.nearest("shufle") == "blues-shuffle");
  CHECK(library.nearest("boogy") == "boogie-woogie");  // by its other name, boogie
  CHECK(library.nearest("xyzzyplugh").empty());
  std::vector<Fault> faults;
  CHECK(library.find("walz", faults) == nullptr);
  REQUIRE(faults.size() == 1);
  CHECK(faults[0].text() == "walz:1:1: found no idiom of this name, expected \"waltz\"");
}

TEST_CASE("An idiom is read once, and relatives that name each other are the very same idioms", "[idiom_file]") {
  IdiomLibrary library({SEGUENTE_PATTERNS});
  std::vector<Fault> faults;
  const auto* march = library.find("march", faults);
  const auto* waltz = library.find("waltz", faults);
  REQUIRE((march != nullptr && waltz != nullptr));
  CHECK(library.find("waltz", faults) == waltz);
  CHECK(inMeter(*march, {3, 4}) == waltz);
  CHECK(inMeter(*waltz, {2, 4}) == march);
  CHECK(inMeter(*waltz, {3, 4}) == waltz);
  CHECK(faults.empty());
  CHECK(waltz->path.ends_with("waltz.toml"));
}

TEST_CASE("A later folder wins over an earlier one, and other files are not idioms", "[idiom_file]") {
  const Folder first("first"), second("second");
  first.write("oom-pah.toml", std::string(test::goodFile));
  first.write("notes.txt", "not an idiom");
  second.write("oom-pah.toml", test::changed("title = \"Oom-pah\"", "title = \"Mine\""));
  IdiomLibrary library({first.path, second.path, second.path / "not there"});
  REQUIRE(library.entries().size() == 1);
  CHECK(library.entries()[0].id == "oom-pah");
  CHECK(library.entries()[0].path == second.path / "oom-pah.toml");
  CHECK(foundAs(library, "mine") == "oom-pah");
}

TEST_CASE("A bad file hides no good one, and its faults are told when it is asked for", "[idiom_file]") {
  const Folder folder("bad");
  folder.write("bad.toml", "format = 1\nid = \"bad\"\n");
  folder.write("oom-pah.toml", std::string(test::goodFile));
  IdiomLibrary library({folder.path});
  CHECK(library.entries().size() == 2);
  CHECK(foundAs(library, "march bass") == "oom-pah");  // asks bad.toml for its names on the way
  std::vector<Fault> faults;
  CHECK(library.find("bad", faults) == nullptr);
  CHECK(faults.size() > 3);
}

TEST_CASE("A relative that is not there, or whose bar does not fit, is told and left out", "[idiom_file]") {
  const Folder folder("relatives");
  folder.write("oom-pah.toml", test::changed("\"3/4\" = \"waltz\"", "\"3/4\" = \"nobody\"\n\"5/4\" = \"oom-pah\""));
  IdiomLibrary library({folder.path});
  std::vector<Fault> faults;
  const auto* idiom = library.find("oom-pah", faults);
  REQUIRE(idiom != nullptr);  // good enough to play in its own meter
  REQUIRE(faults.size() == 2);
  CHECK(faults[0].found == "relative 3/4 = \"nobody\"");
  CHECK(faults[0].expected == "an installed idiom without faults");
  CHECK(faults[1].expected == "an idiom whose bar is a whole number of bars of 5/4");
  CHECK(inMeter(*idiom, {3, 4}) == nullptr);
  CHECK(inMeter(*idiom, {5, 4}) == nullptr);
}
