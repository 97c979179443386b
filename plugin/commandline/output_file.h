// Writing so that an interrupted run leaves the old file whole: beside it, then an atomic rename.
#pragma once

#include <cstdint>
#include <cstdio>
#include <span>
#include <string>

namespace seguente {

/// A file that appears under its name only when it is complete. Removed when it is not committed.
/// Owned by one thread. [message]
class OutputFile {
 public:
  explicit OutputFile(const std::string& path);
  ~OutputFile();
  OutputFile(const OutputFile&) = delete;
  OutputFile& operator=(const OutputFile&) = delete;

  void write(std::span<const std::uint8_t> bytes);
  void write(std::string_view text);
  /// To disk and in place. Returns a fault ("PATH: cannot be written: ...") or "".
  std::string commit();
  /// The fault so far, or "".
  const std::string& fault() const { return fault_; }

 private:
  void fail(const char* what);

  std::string path_;
  std::string temporary_;  // empty: written straight (a pipe or device cannot be renamed over)
  std::FILE* file_ = nullptr;
  std::string fault_;
};

/// A nameless file in the same folder as `path`, gone when closed; null when there can be none. [message]
std::FILE* scratchBeside(const std::string& path);

/// Interrupt and terminate signals only ask us to stop: whoever works long looks here, so that nothing half-made stays.
void catchInterrupts();
bool interrupted();

}  // namespace seguente
