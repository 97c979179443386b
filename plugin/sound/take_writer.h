// Writes a take as it is played: sound as WAV or FLAC (libsndfile), performance and arrangement as MIDI files. A thread
// of its own writes twenty times a second and, twice a second, mends what the files say of their own length and hands
// them to the disk: whatever happens to the program or the machine, all but the last second opens.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "plugin/sound/sound_file.h"
#include "plugin/sound/take.h"

namespace seguente {

/// [message]
struct TakeWishes {
  std::filesystem::path folder;  // made if it is not there
  std::string name;  // of the files, without an ending; a number is put behind it where one is there already
  SoundFormat sound = SoundFormat::wav;
  bool midi = true;
  // A WAV file counts its bytes in 32 bits: before they are full (four hours at 48,000) another file goes on.
  std::int64_t mostFramesInWav = std::int64_t{0xFFFF0000} / 6;
};

/// [message]
struct TakeStatus {
  bool running = false;
  double seconds = 0;  // written
  std::vector<std::filesystem::path> files;
  std::uint64_t lostFrames = 0, lostMessages = 0;
  std::string fault;  // one line, or empty: what stopped it ("the disk is full")
};

/// [message] throughout.
class TakeWriter {
 public:
  explicit TakeWriter(Take& take);
  ~TakeWriter();  // stops
  TakeWriter(const TakeWriter&) = delete;
  TakeWriter& operator=(const TakeWriter&) = delete;

  /// Returns one line, or "" when it runs.
  std::string start(const TakeWishes& wishes);
  /// Writes what is still on its way and closes the files. With nothing written, no file is left.
  TakeStatus stop();
  TakeStatus status() const;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

}  // namespace seguente
