#include "plugin/own_folder.h"

#include <fstream>
#include <system_error>

#include "dsp/limits.h"

namespace seguente {

namespace fs = std::filesystem;

std::map<std::string, OwnFolder::Stamp> OwnFolder::list() const {
  std::map<std::string, Stamp> found;
  if (folder_.empty()) return found;
  std::error_code error;
  fs::directory_iterator files(folder_, error), end;
  for (; !error && files != end; files.increment(error)) {
    const auto& path = files->path();
    std::error_code sizeError, timeError, kindError;
    if (path.extension() != ".toml" || !files->is_regular_file(kindError)) continue;
    const Stamp stamp{fs::file_size(path, sizeError), fs::last_write_time(path, timeError)};
    if (!sizeError && !timeError) found.emplace(path.filename().string(), stamp);
  }
  return found;
}

FileChange OwnFolder::read(const std::string& name) const {
  FileChange change{FileEvent::unreadable, name, {}};
  std::ifstream stream(folder_ / name, std::ios::binary);
  if (!stream) return change;
  std::string text(limits::fileBytes + 1, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (stream.bad()) return change;
  text.resize(static_cast<std::size_t>(stream.gcount()));
  change.event = FileEvent::written;
  change.text = std::move(text);
  return change;
}

std::vector<FileChange> OwnFolder::look() {
  std::vector<FileChange> changes;
  const auto now = list();
  for (const auto& [name, stamp] : now) {
    const auto known = known_.find(name);
    if (known != known_.end() && known->second.stamp == stamp) {
      known->second.missed = 0;
      continue;
    }
    // The stamp from before the reading: what is written while we read is seen at the next look.
    known_[name] = {stamp, 0};
    changes.push_back(read(name));
  }
  for (auto known = known_.begin(); known != known_.end();) {
    const bool gone = now.find(known->first) == now.end() && ++known->second.missed == 2;
    if (gone) changes.push_back({FileEvent::gone, known->first, {}});
    known = gone ? known_.erase(known) : std::next(known);
  }
  return changes;
}

}  // namespace seguente
