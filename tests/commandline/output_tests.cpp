#include <sys/stat.h>

#include "plugin/commandline/output_file.h"
#include "tests/catch.h"
#include "tests/commandline/midi_builder.h"

using namespace seguente;
using namespace seguente::test;

namespace {
Bytes bytes(std::string_view text) { return Bytes(text.begin(), text.end()); }
}  // namespace

TEST_CASE("an interrupted writing leaves the old file whole and nothing beside it", "[commandline]") {
  const Scratch scratch;
  const auto path = scratch.write("out.mid", "the old one");
  {
    OutputFile file(path);
    file.write(std::string_view("half of the new"));
    CHECK(Scratch::read(path) == bytes("the old one"));
    CHECK(scratch.count() == 2);  // the old one and the one beside it
  }
  CHECK(Scratch::read(path) == bytes("the old one"));
  CHECK(scratch.count() == 1);
}

TEST_CASE("a finished writing replaces the old file at once and keeps its rights", "[commandline]") {
  const Scratch scratch;
  const auto path = scratch.write("out.mid", "the old one");
  ::chmod(path.c_str(), 0640);
  OutputFile file(path);
  file.write(std::string_view("the new one"));
  CHECK(file.commit().empty());
  CHECK(Scratch::read(path) == bytes("the new one"));
  CHECK(scratch.count() == 1);
  struct stat about {};
  ::stat(path.c_str(), &about);
  CHECK((about.st_mode & 0777) == 0640);
}

TEST_CASE("a link keeps pointing to the file that is replaced", "[commandline]") {
  const Scratch scratch;
  const auto path = scratch.write("real.mid", "old");
  std::filesystem::create_symlink(path, scratch.path("link.mid"));
  OutputFile file(scratch.path("link.mid"));
  file.write(std::string_view("new"));
  CHECK(file.commit().empty());
  CHECK(std::filesystem::is_symlink(scratch.path("link.mid")));
  CHECK(Scratch::read(path) == bytes("new"));
}

TEST_CASE("a place that cannot be written is named", "[commandline]") {
  const Scratch scratch;
  CHECK(OutputFile(scratch.path("")).fault().find("is a folder") != std::string::npos);
  CHECK(OutputFile(scratch.path("no/such/folder/out.mid")).fault().find("cannot be written") != std::string::npos);
}
