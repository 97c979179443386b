// The player's own pattern files: which have been written, spoilt or taken away since the last look.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace seguente {

enum class FileEvent : std::uint8_t { written, unreadable, gone };

struct FileChange {
  FileEvent event = FileEvent::written;
  std::string name;  // of the file, without folder
  std::string text;  // of a written one; at most one byte more than limits::fileBytes, which the compiler refuses
};

/// The *.toml of one folder, known by name, size and time of writing. [message]
class OwnFolder {
 public:
  /// Touches nothing. May be empty: no folder.
  explicit OwnFolder(std::filesystem::path folder) : folder_(std::move(folder)) {}
  /// By name, ascending. A file counts as gone when two looks have missed it: editors save by deleting and renaming.
  std::vector<FileChange> look();

 private:
  struct Stamp {
    std::uintmax_t size = 0;
    std::filesystem::file_time_type written{};
    friend bool operator==(const Stamp&, const Stamp&) = default;
  };
  struct Known {
    Stamp stamp;
    int missed = 0;  // looks in a row
  };
  std::map<std::string, Stamp> list() const;
  FileChange read(const std::string& name) const;

  std::filesystem::path folder_;
  std::map<std::string, Known> known_;
};

}  // namespace seguente
