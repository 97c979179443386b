// A sound file that grows while it is played, by libsndfile: WAV or FLAC, two channels of 24 bits. After each flush the
// file says how long it is, so that it opens whatever happens to the program.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>

namespace seguente {

enum class SoundFormat : std::uint8_t { none, wav, flac };
const char* endingOf(SoundFormat format) noexcept;  // ".wav"

/// [message] throughout.
class SoundFile {
 public:
  SoundFile();
  ~SoundFile();
  SoundFile(const SoundFile&) = delete;
  SoundFile& operator=(const SoundFile&) = delete;

  /// A file that is not there yet. Returns one line, or "".
  std::string open(const std::filesystem::path& path, SoundFormat format, double rate);
  /// Left and right by turns, 1 is full scale.
  std::string write(std::span<const float> samples);
  /// What was written is handed to the disk, and the head says so. Of a FLAC the last block, less than a tenth of a
  /// second, may wait for the next flush.
  std::string flush();
  std::string close();
  std::int64_t frames() const noexcept;  // written

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

}  // namespace seguente
