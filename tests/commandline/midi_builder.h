// Builds MIDI files byte by byte in tests, independently of the writer that is tested.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <initializer_list>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

namespace seguente::test {

using Bytes = std::vector<std::uint8_t>;

inline void append(Bytes& to, const Bytes& what) { to.insert(to.end(), what.begin(), what.end()); }
inline void append(Bytes& to, std::string_view text) {
  for (const char c : text) to.push_back(static_cast<std::uint8_t>(c));
}
inline void appendNumber(Bytes& to, std::uint32_t value, int count) {
  for (int i = count - 1; i >= 0; --i) to.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

/// Slow and obvious: the seven-bit groups are collected from below and written from above.
inline Bytes variableLength(std::uint32_t value) {
  Bytes groups{static_cast<std::uint8_t>(value % 128)};
  while ((value /= 128) > 0) groups.push_back(static_cast<std::uint8_t>(128 + value % 128));
  return Bytes(groups.rbegin(), groups.rend());
}

/// A track that is written event by event; `at` counts ticks from the start.
class TrackBuilder {
 public:
  TrackBuilder& event(std::uint32_t at, const Bytes& bytes) {
    append(bytes_, variableLength(at - now_));
    append(bytes_, bytes);
    now_ = at;
    return *this;
  }
  Bytes chunk(bool endOfTrack = true) const {
    Bytes body = bytes_;
    if (endOfTrack) append(body, {0x00, 0xFF, 0x2F, 0x00});
    Bytes all;
    append(all, "MTrk");
    appendNumber(all, static_cast<std::uint32_t>(body.size()), 4);
    append(all, body);
    return all;
  }

 private:
  Bytes bytes_;
  std::uint32_t now_ = 0;
};

inline Bytes midiFile(int format, int division, std::initializer_list<Bytes> chunks, int declared = -1) {
  Bytes all;
  append(all, "MThd");
  appendNumber(all, 6, 4);
  appendNumber(all, static_cast<std::uint32_t>(format), 2);
  appendNumber(all, declared >= 0 ? static_cast<std::uint32_t>(declared) : static_cast<std::uint32_t>(chunks.size()),
               2);
  appendNumber(all, static_cast<std::uint32_t>(division), 2);
  for (const Bytes& c : chunks) append(all, c);
  return all;
}

/// Names, tempo, meter, an unknown meta whose length is written with a needless byte, a system exclusive message.
inline void addHead(TrackBuilder& track) {
  track.event(0, {0xFF, 0x03, 4, 'T', 'u', 'n', 'e'})
      .event(0, {0xFF, 0x51, 0x03, 0x07, 0xA1, 0x20})        // 120 quarters a minute: REFERENCES section 1
      .event(0, {0xFF, 0x58, 0x04, 0x04, 0x02, 0x18, 0x08})  // 4/4
      .event(0, {0xFF, 0x60, 0x80, 0x02, 0x55, 0x66})
      .event(0, {0xF0, 0x04, 0x7E, 0x09, 0x01, 0xF7});
}

/// A tune in running status with velocity-0 note-offs, a pedal and a bend; `channel` from 0.
inline void addTune(TrackBuilder& track, std::uint32_t q, std::uint8_t channel) {
  const auto on = static_cast<std::uint8_t>(0x90 | channel);
  const auto control = static_cast<std::uint8_t>(0xB0 | channel);
  const auto bend = static_cast<std::uint8_t>(0xE0 | channel);
  track.event(0, {control, 64, 127}).event(0, {on, 72, 80});
  track.event(q, {72, 0}).event(q, {74, 81}).event(2 * q - 1, {74, 0}).event(2 * q, {76, 82});  // running status
  track.event(3 * q, {bend, 0x00, 0x40}).event(4 * q - 1, {on, 76, 0}).event(4 * q, {71, 90});
  track.event(8 * q - 1, {71, 0}).event(8 * q, {control, 64, 0});
}

/// C, then G7 as B-F-G, a bar each, below the split; velocity-0 and true note-offs.
inline void addChords(TrackBuilder& track, std::uint32_t q, std::uint8_t channel) {
  const auto on = static_cast<std::uint8_t>(0x90 | channel);
  const auto off = static_cast<std::uint8_t>(0x80 | channel);
  track.event(0, {on, 48, 70}).event(0, {52, 70}).event(0, {55, 70});
  track.event(4 * q - 1, {48, 0}).event(4 * q - 1, {52, 0}).event(4 * q - 1, {off, 55, 33});
  track.event(4 * q, {on, 47, 70}).event(4 * q, {53, 70}).event(4 * q, {55, 70});
  track.event(8 * q - 1, {off, 47, 1}).event(8 * q - 1, {53, 2}).event(8 * q - 1, {55, 3});
}

/// Two bars of a tune (channel 1) over C and G7 (channel 2) in 4/4. Format 1: head, tune and chords in three tracks.
inline Bytes twoBars(int format, int resolution) {
  const auto q = static_cast<std::uint32_t>(resolution);
  TrackBuilder head, tune, chords;
  addHead(head);
  if (format == 0) {
    TrackBuilder all;
    addHead(all);
    all.event(0, {0x90, 72, 80}).event(0, {48, 70}).event(0, {52, 70}).event(0, {55, 70});
    all.event(4 * q - 1, {72, 0}).event(4 * q - 1, {48, 0}).event(4 * q - 1, {52, 0}).event(4 * q - 1, {55, 0});
    all.event(4 * q, {0xB0, 64, 127})
        .event(4 * q, {0x90, 71, 80})
        .event(4 * q, {47, 70})
        .event(4 * q, {53, 70})
        .event(4 * q, {55, 70});
    all.event(8 * q, {0x80, 71, 9})
        .event(8 * q, {47, 9})
        .event(8 * q, {53, 9})
        .event(8 * q, {55, 9})
        .event(8 * q, {0xB0, 64, 0});
    return midiFile(0, resolution, {all.chunk()});
  }
  addTune(tune, q, 0);
  addChords(chords, q, 1);
  return midiFile(1, resolution, {head.chunk(), tune.chunk(), chords.chunk()});
}

/// A folder of the test's own, taken away at the end.
class Scratch {
 public:
  Scratch() {
    std::string name = (std::filesystem::temp_directory_path() / "seguente-test-XXXXXX").string();
    folder_ = ::mkdtemp(name.data());
  }
  ~Scratch() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  std::string write(const std::string& name, const Bytes& content) const {
    std::ofstream file(path(name), std::ios::binary);
    file.write(reinterpret_cast<const char*>(content.data()), static_cast<std::streamsize>(content.size()));
    return path(name);
  }
  std::string write(const std::string& name, std::string_view content) const {
    return write(name, Bytes(content.begin(), content.end()));
  }
  static Bytes read(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return Bytes(std::istreambuf_iterator<char>(file), {});
  }
  std::size_t count() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder_), {}));
  }

 private:
  std::filesystem::path folder_;
};

}  // namespace seguente::test
