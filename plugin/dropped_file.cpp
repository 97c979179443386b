#include "plugin/dropped_file.h"

#include <algorithm>
#include <fstream>
#include <system_error>

#include "dsp/idiom_file.h"
#include "dsp/limits.h"
#include "plugin/own_files.h"
#include "plugin/running_order.h"

namespace seguente {

namespace fs = std::filesystem;

namespace {

/// At most one byte more than is allowed, which whoever compiles it refuses. False when it cannot be read.
bool readInto(std::string& text, const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return false;
  text.resize(limits::fileBytes + 1);
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(file.gcount()));
  return !file.bad();
}

/// An order has presets in it, an idiom has none.
bool looksLikeOrder(std::string_view text) {
  for (std::size_t at = text.find("[[presets]]"); at != std::string_view::npos; at = text.find("[[presets]]", at + 1))
    if (at == 0 || text[at - 1] == '\n') return true;
  return false;
}

/// An idiom bears the name of its file as its id: that one word is changed, and all remarks stay.
std::string withId(std::string_view text, const std::string& id) {
  std::string own(text);
  for (std::size_t line = 0; line < own.size();) {
    const auto end = std::min(own.find('\n', line), own.size());
    const auto equals = own.find('=', line);
    if (equals < end) {
      auto key = own.substr(line, equals - line);
      std::erase_if(key, [](char c) { return c == ' ' || c == '\t' || c == '"' || c == '\''; });
      const auto from = own.find_first_of("\"'", equals), to = own.find_first_of("\"'", from + 1);
      if (key == "id" && from < end && to < end) return own.replace(from + 1, to - from - 1, id);
    }
    line = end + 1;
  }
  return own;
}

}  // namespace

Dropped readDropped(const fs::path& path) {
  Dropped dropped;
  dropped.name = path.filename().string();
  std::error_code error;
  if (!fs::is_regular_file(path, error) || !readInto(dropped.text, path)) {
    dropped.faults.push_back(dropped.name + ": this file cannot be read");
    return dropped;
  }
  std::vector<Fault> faults;
  if (looksLikeOrder(dropped.text)) {
    dropped.kind = DroppedKind::order;
    auto read = readOrder(dropped.text, dropped.name);
    if (read.order) dropped.title = read.order->title;
    faults = std::move(read.faults);
  } else {
    auto read = compileIdiom(dropped.text, path.stem().string());  // how it was called elsewhere is nobody's fault
    for (auto& fault : read.faults) fault.file = dropped.name;
    if (read.idiom) {
      dropped.title = read.idiom->title;
      dropped.name = read.idiom->id + ".toml";
    }
    faults = std::move(read.faults);
  }
  for (const auto& fault : faults) dropped.faults.push_back(fault.text());
  return dropped;
}

KeptAs keepDropped(const fs::path& folder, const std::string& name, std::string_view asItCame) {
  const auto id = fs::path(name).stem().string();
  const auto text = looksLikeOrder(asItCame) ? std::string(asItCame) : withId(asItCame, id);
  switch (keepNew(folder, id, text)) {
    case Kept::kept:
      return KeptAs::kept;
    case Kept::taken: {
      std::string there;
      return readInto(there, ownFile(folder, id)) && there == text ? KeptAs::same : KeptAs::taken;
    }
    case Kept::failed:
      break;
  }
  return KeptAs::failed;
}

std::string freeName(const fs::path& folder, const std::string& name) {
  const auto stem = fs::path(name).stem().string();
  std::error_code error;
  for (int n = 2;; ++n)
    if (auto free = stem + "-" + std::to_string(n) + ".toml"; !fs::exists(folder / free, error)) return free;
}

}  // namespace seguente
