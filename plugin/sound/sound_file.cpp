#include "plugin/sound/sound_file.h"

#include <fcntl.h>
#include <sndfile.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace seguente {

namespace {

// How a FLAC begins (RFC 9639, 8.1 and 8.2): four letters, four bytes that announce STREAMINFO, then its sizes of
// blocks (16 bits each) and of frames (24 each), rate (20), channels (3), bits (5), and the number of samples (36).
constexpr std::int64_t flacBlockPlace = 8, flacRatePlace = 18;

}  // namespace

struct SoundFile::Body {
  int handle = -1;
  SNDFILE* file = nullptr;
  SoundFormat format = SoundFormat::none;
  std::int64_t frames = 0;

  std::string fault() const { return std::string("cannot be written: ") + ::sf_strerror(file); }
  void mendFlac() const;
};

const char* endingOf(SoundFormat format) noexcept {
  return format == SoundFormat::wav ? ".wav" : format == SoundFormat::flac ? ".flac" : "";
}

SoundFile::SoundFile() : body_(std::make_unique<Body>()) {}
SoundFile::~SoundFile() { close(); }

std::string SoundFile::open(const std::filesystem::path& path, SoundFormat format, double rate) {
  Body& b = *body_;
  b.handle = ::open(path.c_str(), O_CREAT | O_EXCL | O_RDWR | O_CLOEXEC, 0644);
  if (b.handle < 0) return path.string() + ": " + std::strerror(errno);
  SF_INFO info{};
  info.samplerate = static_cast<int>(rate);
  info.channels = 2;
  info.format = SF_FORMAT_PCM_24 | (format == SoundFormat::flac ? SF_FORMAT_FLAC : SF_FORMAT_WAV);
  b.file = ::sf_open_fd(b.handle, SFM_WRITE, &info, SF_FALSE);
  if (b.file == nullptr) return path.string() + ": " + ::sf_strerror(nullptr);
  ::sf_command(b.file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
  b.format = format;
  b.frames = 0;
  return {};
}

std::string SoundFile::write(std::span<const float> samples) {
  Body& b = *body_;
  const auto frames = static_cast<sf_count_t>(samples.size() / 2);
  if (::sf_writef_float(b.file, samples.data(), frames) != frames) return b.fault();
  b.frames += frames;
  return {};
}

/// The encoder tells its length only at the end. Until then we do, for the blocks that it has let go of: it keeps one
/// sample more than a block.
void SoundFile::Body::mendFlac() const {
  std::array<std::uint8_t, 2> size{};
  std::array<std::uint8_t, 8> field{};
  if (::pread(handle, size.data(), size.size(), flacBlockPlace) != 2) return;
  if (::pread(handle, field.data(), field.size(), flacRatePlace) != 8) return;
  const std::int64_t block = size[0] << 8 | size[1];
  if (block == 0 || frames == 0) return;
  const auto whole = static_cast<std::uint64_t>((frames - 1) / block * block);
  field[3] = static_cast<std::uint8_t>((field[3] & 0xF0) | ((whole >> 32) & 0x0F));
  for (std::size_t i = 0; i < 4; ++i) field[4 + i] = static_cast<std::uint8_t>(whole >> (24 - 8 * i));
  static_cast<void>(::pwrite(handle, field.data(), field.size(), flacRatePlace));
}

/// Sound first, then the head that tells of it: a machine that stops in between leaves the length of before.
std::string SoundFile::flush() {
  Body& b = *body_;
  if (b.file == nullptr) return {};
  if (::fdatasync(b.handle) != 0 && errno != EINVAL) return std::string("cannot be written: ") + std::strerror(errno);
  if (b.format == SoundFormat::flac)
    b.mendFlac();
  else
    ::sf_command(b.file, SFC_UPDATE_HEADER_NOW, nullptr, 0);
  return {};
}

std::string SoundFile::close() {
  Body& b = *body_;
  std::string fault;
  if (b.file != nullptr && ::sf_close(b.file) != 0) fault = "cannot be written to its end";
  b.file = nullptr;
  if (b.handle >= 0) {
    if (::fsync(b.handle) != 0 && errno != EINVAL && fault.empty()) fault = std::strerror(errno);
    ::close(b.handle);
  }
  b.handle = -1;
  return fault;
}

std::int64_t SoundFile::frames() const noexcept { return body_->frames; }

}  // namespace seguente
