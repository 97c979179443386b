// Reads, checks and compiles pattern files. Off the audio thread only.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom.h"
#include "dsp/idiom_family.h"

namespace seguente {

/// One fault of a file. line and column count from 1. [message]
struct Fault {
  std::string file;
  int line = 1;
  int column = 1;
  std::string found;         // what was found
  std::string expected;      // what was expected
  std::string text() const;  // "file:line:col: found ..., expected ..."
};

/// A compiled idiom, or every fault of the file; never half of each. [message]
struct IdiomResult {
  std::unique_ptr<Idiom> idiom;  // null when there are faults
  std::vector<Fault> faults;
};

/// Compiles a pattern file's text. `name` is what faults call it. Relatives are named, not yet resolved. [message]
IdiomResult compileIdiom(std::string_view text, std::string_view name);

/// Reads and compiles a file. A file that cannot be read is one Fault at 1:1. [message]
IdiomResult readIdiom(const std::filesystem::path& path);

/// The installed idioms of one or more folders, compiled when first asked for, with relatives resolved.
/// Owns every idiom it has handed out until it dies. [message]
class IdiomLibrary {
 public:
  explicit IdiomLibrary(const std::vector<std::filesystem::path>& folders);
  ~IdiomLibrary();
  struct Entry {
    std::string id;
    std::filesystem::path path;
  };
  /// Every *.toml of the folders by id (file name without ending), sorted; a later folder wins over an earlier one.
  const std::vector<Entry>& entries() const;
  /// By id, other name (also) or title, or by path when it has a slash or ends in .toml. Null with faults filled when
  /// it is bad or unknown. With an idiom that is good, faults may still hold advice: a relative that could not be
  /// resolved.
  const Idiom* find(std::string_view idOrPath, std::vector<Fault>& faults);
  /// The id most like a mistyped one, or "". [message]
  std::string nearest(std::string_view id) const;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

}  // namespace seguente
