// A player's own folder that is there for one test.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "plugin/shelf.h"

namespace seguente::test {

/// A march of one's own.
inline std::string ownMarch(const std::string& id, const std::string& title) {
  return R"(# My own march.
format = 1
)"
         "id     = \"" +
         id + "\"\ntitle  = \"" + title + "\"\n" + R"(about  = "Root and fifth."
meter  = "4/4"
tempo  = [90, 126]
rejoin = [1]

[parts.bass]
kind     = "bass"
register = ["E2", "Eb3"]

[parts.chords]
kind     = "chords"
register = ["C3", "C4"]

[medium]
statement = [
  { beat = 1, length = 1, part = "bass",   play = "1" },  # the foot
  { beat = 2, length = 1, part = "chords", play = "C" },
  { beat = 3, length = 1, part = "bass",   play = "5" },  # the other foot
  { beat = 4, length = 1, part = "chords", play = "C" },
]

[[medium.short]]
beats = 1
steps = [ { beat = 1, length = 1, part = "bass", play = "1" }, { beat = 1, length = 1, part = "chords", play = "C" } ]

[[medium.short]]
beats = 2
steps = [ { beat = 1, length = 1, part = "bass", play = "1" }, { beat = 2, length = 1, part = "chords", play = "C" } ]
)";
}

/// To be made before the plugin is.
class OwnHome {
 public:
  OwnHome() {
    auto name = (std::filesystem::temp_directory_path() / "seguente-own-XXXXXX").string();
    root_ = ::mkdtemp(name.data());
    if (const char* was = std::getenv("XDG_DATA_HOME")) was_ = was;
    ::setenv("XDG_DATA_HOME", root_.c_str(), 1);
    folder_ = ownIdiomsFolder();
  }
  ~OwnHome() {
    ::setenv("XDG_DATA_HOME", was_.c_str(), 1);
    std::error_code none;
    std::filesystem::remove_all(root_, none);
  }
  OwnHome(const OwnHome&) = delete;
  OwnHome& operator=(const OwnHome&) = delete;

  void write(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories(folder_);
    std::ofstream(folder_ / name, std::ios::binary) << text;
  }
  std::string read(const std::string& name) const {
    std::ifstream file(folder_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  int files() const {
    std::error_code none;
    int count = 0;
    for (std::filesystem::directory_iterator at(folder_, none), end; !none && at != end; ++at) ++count;
    return count;
  }

 private:
  std::filesystem::path root_, folder_;
  std::string was_;
};

}  // namespace seguente::test
