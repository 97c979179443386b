// A pattern file in the player's own folder, for tests that save it while the plugin plays.
#pragma once

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "plugin/processor.h"

namespace seguente::host {

inline std::string readWhole(const std::string& path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

inline std::string replaced(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

/// A file in the player's own folder, which goes with the test.
class OwnIdiom {
 public:
  OwnIdiom() {
    std::filesystem::create_directories(ownIdiomsFolder());
    save(text_);
  }
  ~OwnIdiom() { std::filesystem::remove(path_); }
  void save(const std::string& text) {
    std::ofstream(path_.string() + ".new") << text;
    std::filesystem::rename(path_.string() + ".new", path_);
  }
  const std::string& text() const { return text_; }

 private:
  std::filesystem::path path_ = ownIdiomsFolder() / "my-bass.toml";
  std::string text_ = replaced(replaced(readWhole(SEGUENTE_PATTERNS "/broken-bass.toml"), "broken-bass", "my-bass"),
                               "Broken bass", "My bass");
};

/// What the slot of an idiom of ours is.
inline int slotByTitle(Processor& processor, const std::string& title) {
  for (const auto slot : processor.shelf().filled())
    if (processor.shelf().entry(slot).title == title) return static_cast<int>(slot);
  return -1;
}

}  // namespace seguente::host
