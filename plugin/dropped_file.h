// A file that somebody drops on the window: what it is, whether it is good, and how it is kept among the player's own
// without anything being written over.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace seguente {

enum class DroppedKind : std::uint8_t { idiom, order };

struct Dropped {
  DroppedKind kind = DroppedKind::idiom;
  std::string name;  // of the file to be, without folder: an idiom's id, an order's own
  std::string title;
  std::string text;
  std::vector<std::string> faults;  // each with file, line and column; empty when it is good
};

/// Whether a file of this name is worth a look. [any]
inline bool mayBeOurs(std::string_view name) { return name.ends_with(".toml"); }
/// Reads it, and says every fault. path: a regular file; a larger one than a pattern file may be is refused. [message]
Dropped readDropped(const std::filesystem::path& path);

enum class KeptAs : std::uint8_t { kept, same, taken, failed };  // same: it is there already, to the letter
/// Into the folder, which is made if it is missing. A file that is there is never touched. An idiom bears its file's
/// name as its id: kept under another name, that one word of its text is changed. [message]
KeptAs keepDropped(const std::filesystem::path& folder, const std::string& name, std::string_view text);
/// The first of name-2.toml, name-3.toml ... that is free. [message]
std::string freeName(const std::filesystem::path& folder, const std::string& name);

}  // namespace seguente
