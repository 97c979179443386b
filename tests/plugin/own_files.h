// A folder of pattern files for one test, and small idioms to put into it.
#pragma once

#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>

namespace seguente::test {

/// Gone afterwards. Each writing bears a later time than the one before, so that no test waits for a clock.
class OwnFiles {
 public:
  explicit OwnFiles(const std::string& name)
      : path(std::filesystem::temp_directory_path() / ("seguente_" + name + "_" + std::to_string(::getpid()))) {
    std::filesystem::remove_all(path);
    std::filesystem::create_directories(path);
  }
  ~OwnFiles() {
    std::error_code ignored;
    std::filesystem::remove_all(path, ignored);
  }
  OwnFiles(const OwnFiles&) = delete;
  OwnFiles& operator=(const OwnFiles&) = delete;

  void write(const std::string& file, const std::string& text) {
    std::ofstream(path / file, std::ios::binary) << text;
    std::filesystem::last_write_time(path / file, first_ + std::chrono::seconds(++writings_));
  }
  void remove(const std::string& file) const { std::filesystem::remove(path / file); }

  const std::filesystem::path path;

 private:
  const std::filesystem::file_time_type first_{std::chrono::hours(1)};
  int writings_ = 0;
};

/// One stroke a bar on a degree; title and relatives as asked for (lines of TOML).
inline std::string smallIdiom(const std::string& id, const std::string& title = "Small",
                              const std::string& relatives = "", const std::string& degree = "1") {
  return "format = 1\nid = \"" + id + "\"\ntitle = \"" + title +
         "\"\nabout = \"One stroke a bar.\"\nmeter = \"4/4\"\ntempo = [60, 120]\n\n[relatives]\n" + relatives +
         "\n[parts.bass]\nkind = \"bass\"\nregister = [\"E2\", \"E3\"]\n\n[lean]\nstatement = [\n"
         "  { beat = 1, length = 4, part = \"bass\", play = \"" +
         degree + "\" },\n]\n";
}

}  // namespace seguente::test
