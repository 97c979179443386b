#include "plugin/commandline/midi_file.h"

#include <algorithm>

#include "plugin/commandline/whole_file.h"

namespace seguente {

namespace {

constexpr std::int64_t longestVariableLength = 0x0FFFFFFF;  // SMF 1.1: four bytes of seven bits
constexpr std::int64_t lastTick = std::int64_t{1} << 40;    // keeps every later product inside 64 bits

/// Walks over bytes and never past their end. After a fault `fault` is set and every further read gives 0.
struct Reader {
  std::span<const std::uint8_t> data;
  std::size_t at = 0;
  std::string fault;

  bool done() const { return !fault.empty() || at >= data.size(); }
  void fail(const char* why) {
    if (fault.empty()) fault = std::string(why) + " (byte " + std::to_string(at) + ")";
  }
  std::uint8_t peek() const { return at < data.size() ? data[at] : std::uint8_t{0}; }
  std::uint8_t byte() {
    if (at >= data.size()) {
      fail("is cut short: it ends inside an event");
      return 0;
    }
    return data[at++];
  }
  void skip(std::size_t n) {
    if (n > data.size() - at) {
      at = data.size();
      fail("is cut short: it ends inside an event");
    } else {
      at += n;
    }
  }
  std::int64_t variableLength() {
    std::int64_t value = 0;
    for (int i = 0; i < 4; ++i) {
      const std::uint8_t b = byte();
      value = (value << 7) | (b & 0x7F);
      if ((b & 0x80) == 0) return value;
    }
    fail("is damaged: a length of more than four bytes");
    return 0;
  }
};

std::uint32_t bigEndian(std::span<const std::uint8_t> d, std::size_t at, int count) {
  std::uint32_t value = 0;
  for (int i = 0; i < count; ++i) value = (value << 8) | d[at + static_cast<std::size_t>(i)];
  return value;
}

bool named(std::span<const std::uint8_t> d, std::size_t at, std::string_view name) {
  return at + 4 <= d.size() && std::equal(name.begin(), name.end(), d.begin() + static_cast<std::ptrdiff_t>(at),
                                          [](char a, std::uint8_t b) { return static_cast<std::uint8_t>(a) == b; });
}

/// Data bytes of a voice message: two, or one for program and channel pressure (MIDI 1.0).
int dataBytes(std::uint8_t status) { return (status & 0xE0) == 0xC0 ? 1 : 2; }

void readVoice(Reader& r, MidiFile& file, MidiTrack& track, std::int64_t tick, std::uint8_t status) {
  std::uint8_t event[3] = {status, 0, 0};
  const int count = dataBytes(status);
  for (int i = 0; i < count; ++i) {
    if ((r.peek() & 0x80) != 0 && r.at < r.data.size()) r.fail("is damaged: a status byte where data was due");
    event[i + 1] = r.byte();
  }
  if (r.fault.empty()) file.add(track, tick, {event, static_cast<std::size_t>(count) + 1});
}

void readLong(Reader& r, MidiFile& file, MidiTrack& track, std::int64_t tick, std::size_t from) {
  r.skip(static_cast<std::size_t>(r.variableLength()));
  if (r.fault.empty()) file.add(track, tick, r.data.subspan(from, r.at - from));
}

/// One event after its delta time. Lenient as REFERENCES section 1 allows: running status outlives meta and sysex.
/// Returns true at the end of track.
bool readEvent(Reader& r, MidiFile& file, MidiTrack& track, std::int64_t tick, std::uint8_t& running) {
  const std::size_t from = r.at;
  const std::uint8_t first = r.peek();
  if (r.done()) {
    r.fail("is cut short: it ends inside an event");
  } else if (first < 0x80) {
    if (running == 0) r.fail("is damaged: a data byte without a status before it");
    readVoice(r, file, track, tick, running);
  } else if (first < 0xF0) {
    running = r.byte();
    readVoice(r, file, track, tick, running);
  } else if (first == 0xF0 || first == 0xF7) {
    r.skip(1);
    readLong(r, file, track, tick, from);
  } else if (first == 0xFF) {
    r.skip(1);
    const std::uint8_t type = r.byte();
    readLong(r, file, track, tick, from);
    return type == metaEndOfTrack && r.fault.empty();
  } else {
    r.fail("is damaged: a status byte that a file cannot hold");
  }
  return false;
}

std::string readTrack(std::span<const std::uint8_t> chunk, MidiFile& file) {
  MidiTrack& track = file.tracks.emplace_back();
  track.events.reserve(chunk.size() / 4 + 1);
  Reader r{chunk, 0, {}};
  std::int64_t tick = 0;
  std::uint8_t running = 0;
  bool ended = false;
  while (!ended && !r.done()) {
    tick += r.variableLength();
    if (tick > lastTick) r.fail("is damaged: its times run beyond any playing");
    if (r.fault.empty()) ended = readEvent(r, file, track, tick, running);
  }
  if (!r.fault.empty()) return "track " + std::to_string(file.tracks.size()) + " " + r.fault;
  if (!ended) file.add(track, tick, metaEvent(metaEndOfTrack, {}));  // some writers leave it out
  return {};
}

std::string readHeader(std::span<const std::uint8_t> d, MidiFile& file, int& declared) {
  if (!named(d, 0, "MThd")) return "is not a MIDI file";
  if (d.size() < 14) return "is cut short: it ends inside the header";
  if (bigEndian(d, 4, 4) < 6) return "is damaged: its header is too short";
  file.format = static_cast<int>(bigEndian(d, 8, 2));
  declared = static_cast<int>(bigEndian(d, 10, 2));
  const std::uint32_t division = bigEndian(d, 12, 2);
  if (file.format == 2) return "is of format 2 (tracks one after another); only formats 0 and 1 are read";
  if (file.format > 2) return "is of format " + std::to_string(file.format) + ", which is not known";
  if ((division & 0x8000) != 0) return "counts SMPTE time (frames), not beats; only ticks a quarter are read";
  if (division == 0) return "is damaged: no ticks to the quarter note";
  file.resolution = static_cast<int>(division);
  return {};
}

void appendBigEndian(std::vector<std::uint8_t>& to, std::uint32_t value, int count) {
  for (int shift = 8 * (count - 1); shift >= 0; shift -= 8) to.push_back(static_cast<std::uint8_t>(value >> shift));
}

bool isEndOfTrack(std::span<const std::uint8_t> e) { return e.size() >= 2 && e[0] == 0xFF && e[1] == metaEndOfTrack; }

void appendTrack(std::vector<std::uint8_t>& to, const MidiFile& file, const MidiTrack& track) {
  for (const char c : std::string_view("MTrk")) to.push_back(static_cast<std::uint8_t>(c));
  const std::size_t lengthAt = to.size();
  appendBigEndian(to, 0, 4);
  std::int64_t now = 0;
  bool ended = false;
  for (const MidiEvent& e : track.events) {
    for (; e.tick - now > longestVariableLength; now += longestVariableLength) {
      appendVariableLength(to, longestVariableLength);  // a rest longer than one delta holds: an empty text between
      to.insert(to.end(), {0xFF, 0x01, 0x00});
    }
    appendVariableLength(to, e.tick - now);
    now = e.tick;
    const auto event = file.bytesOf(e);
    to.insert(to.end(), event.begin(), event.end());
    ended = isEndOfTrack(event);
  }
  if (!ended) to.insert(to.end(), {0x00, 0xFF, metaEndOfTrack, 0x00});
  const auto length = static_cast<std::uint32_t>(to.size() - lengthAt - 4);
  for (int i = 0; i < 4; ++i)
    to[lengthAt + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(length >> (24 - 8 * i));
}

}  // namespace

void MidiFile::add(MidiTrack& track, std::int64_t tick, std::span<const std::uint8_t> event) {
  track.events.push_back({tick, static_cast<std::uint32_t>(bytes.size()), static_cast<std::uint32_t>(event.size())});
  bytes.insert(bytes.end(), event.begin(), event.end());
}

Checked<MidiFile> parseMidi(std::span<const std::uint8_t> content) {
  Checked<MidiFile> result;
  MidiFile& file = result.value;
  int declared = 0;
  result.fault = readHeader(content, file, declared);
  if (!result.good()) return result;
  file.bytes.reserve(content.size() + content.size() / 4);  // running status undone makes it a little longer
  std::size_t at = 8 + static_cast<std::size_t>(bigEndian(content, 4, 4));
  while (at + 8 <= content.size()) {
    const std::size_t length = bigEndian(content, at + 4, 4);
    const bool track = named(content, at, "MTrk");
    if (length > content.size() - at - 8) {
      // Rubbish after the last track is no loss; a track that ends too soon is.
      if (!track && static_cast<int>(file.tracks.size()) >= declared) break;
      return bad<MidiFile>("is cut short: track " + std::to_string(file.tracks.size() + 1) + " ends too soon");
    }
    if (track) {
      result.fault = readTrack(content.subspan(at + 8, length), file);
      if (!result.good()) return result;
    } else {
      file.others.push_back({static_cast<std::uint32_t>(file.bytes.size()), static_cast<std::uint32_t>(length + 8)});
      const auto chunk = content.subspan(at, length + 8);
      file.bytes.insert(file.bytes.end(), chunk.begin(), chunk.end());
    }
    at += 8 + length;
  }
  if (static_cast<int>(file.tracks.size()) < declared)
    return bad<MidiFile>("is cut short: " + std::to_string(file.tracks.size()) + " of " + std::to_string(declared) +
                         " tracks are there");
  if (file.format == 0 && file.tracks.size() > 1) file.format = 1;  // it says one track and holds more
  return result;
}

Checked<MidiFile> readMidi(const std::string& path) {
  const auto content = readWhole(path);
  if (!content.good()) return bad<MidiFile>(content.fault);
  auto result = parseMidi(content.value);
  if (!result.good()) result.fault = path + ": " + result.fault;
  return result;
}

std::vector<std::uint8_t> serializeMidi(const MidiFile& file) {
  std::vector<std::uint8_t> to;
  to.reserve(file.bytes.size() * 2 + 64);
  for (const char c : std::string_view("MThd")) to.push_back(static_cast<std::uint8_t>(c));
  appendBigEndian(to, 6, 4);
  appendBigEndian(to, static_cast<std::uint32_t>(file.format), 2);
  appendBigEndian(to, static_cast<std::uint32_t>(file.tracks.size()), 2);
  appendBigEndian(to, static_cast<std::uint32_t>(file.resolution), 2);
  for (const MidiTrack& track : file.tracks) appendTrack(to, file, track);
  for (const OtherChunk& other : file.others) {
    const std::span<const std::uint8_t> chunk{file.bytes.data() + other.offset, other.length};
    to.insert(to.end(), chunk.begin(), chunk.end());
  }
  return to;
}

void appendVariableLength(std::vector<std::uint8_t>& to, std::int64_t value) {
  const auto held = static_cast<std::uint32_t>(std::clamp<std::int64_t>(value, 0, longestVariableLength));
  for (int shift = 21; shift > 0; shift -= 7)
    if (held >> shift != 0) to.push_back(static_cast<std::uint8_t>(0x80 | ((held >> shift) & 0x7F)));
  to.push_back(static_cast<std::uint8_t>(held & 0x7F));
}

std::vector<std::uint8_t> metaEvent(std::uint8_t type, std::string_view content) {
  std::vector<std::uint8_t> event{0xFF, type};
  appendVariableLength(event, static_cast<std::int64_t>(content.size()));
  for (const char c : content) event.push_back(static_cast<std::uint8_t>(c));
  return event;
}

std::span<const std::uint8_t> metaContent(std::span<const std::uint8_t> event, std::uint8_t type) {
  if (event.size() < 3 || event[0] != 0xFF || event[1] != type) return {};
  std::size_t at = 2;
  while (at < event.size() && (event[at] & 0x80) != 0) ++at;
  return at + 1 <= event.size() ? event.subspan(at + 1) : std::span<const std::uint8_t>{};
}

}  // namespace seguente
