// `notate`: a figure that was played in becomes a pattern file.
#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>

#include "dsp/harmony.h"
#include "dsp/notate/notate.h"
#include "plugin/commandline/commands.h"
#include "plugin/commandline/midi_file.h"
#include "plugin/commandline/our_part.h"
#include "plugin/commandline/output_file.h"
#include "plugin/commandline/words.h"

namespace seguente {

namespace {

constexpr double usualQuarter = 0.5;  // seconds: no tempo event = 120 (SMF 1.1)

struct Event {
  std::int64_t tick;
  std::span<const std::uint8_t> bytes;
};

/// Every track's events in order of tick; at one tick, note-offs first, so that a key struck again is two notes.
std::vector<Event> eventsOf(const MidiFile& file) {
  std::vector<Event> events;
  for (const MidiTrack& track : file.tracks)
    for (const MidiEvent& e : track.events) events.push_back({e.tick, file.bytesOf(e)});
  const auto off = [](const Event& e) {
    const auto kind = e.bytes[0] & 0xF0;
    return kind == 0x80 || (kind == 0x90 && e.bytes.size() > 2 && e.bytes[2] == 0);
  };
  std::stable_sort(events.begin(), events.end(), [&](const Event& a, const Event& b) {
    return std::pair(a.tick, !off(a)) < std::pair(b.tick, !off(b));
  });
  return events;
}

/// What was played on every channel but percussion's. A tempo that changes is the click's: all is told in its quarters.
notate::Take takeOf(const MidiFile& file) {
  notate::Take take;
  double quarterSeconds = 0;
  const auto events = eventsOf(file);
  for (const Event& e : events)
    if (const auto t = metaContent(e.bytes, metaTempo); t.size() >= 3 && quarterSeconds == 0)
      quarterSeconds = ((t[0] << 16) | (t[1] << 8) | t[2]) / 1e6;
  take.doubtful = quarterSeconds == 0 || quarterSeconds == usualQuarter;
  take.quarterSeconds = quarterSeconds > 0 ? quarterSeconds : usualQuarter;
  const double tick = take.quarterSeconds / file.resolution;
  std::array<std::array<int, limits::keys>, limits::channels> down{};  // index into notes, from 1
  double last = 0;
  bool programTold = false;
  for (const Event& e : events) {
    const double now = static_cast<double>(e.tick) * tick;
    last = std::max(last, now);
    if (const auto m = metaContent(e.bytes, metaMeter); m.size() >= 2 && !take.meter && m[1] <= 5) {
      const Meter meter{m[0], static_cast<std::uint8_t>(1 << m[1])};
      if (meter.valid()) take.meter = meter;
    }
    const std::uint8_t channel = e.bytes[0] & 0x0F, kind = e.bytes[0] & 0xF0;
    if (e.bytes.size() < 2 || e.bytes[0] >= 0xF0 || channel == percussionChannel) continue;
    if (kind == 0xC0 && !programTold) {
      take.program = e.bytes[1] & 0x7F;
      programTold = true;
    }
    if (e.bytes.size() < 3) continue;
    if (kind == 0xB0 && e.bytes[1] == 64 && e.bytes[2] >= 64) take.pedal = true;
    if (kind != 0x80 && kind != 0x90) continue;
    int& open = down[channel][e.bytes[1] & 0x7F];
    if (open > 0) take.notes[static_cast<std::size_t>(open - 1)].off = now;
    open = 0;
    if (kind == 0x80 || e.bytes[2] == 0) continue;
    take.notes.push_back({e.bytes[1] & 0x7F, e.bytes[2], now, -1, -1});
    open = static_cast<int>(take.notes.size());
  }
  for (auto& note : take.notes)
    if (note.off < note.on) note.off = last;
  std::erase_if(take.notes, [](const notate::TakenNote& n) { return n.off <= n.on; });
  return take;
}

std::string titleFrom(const std::string& stem) {
  std::string title = stem;
  for (char& c : title)
    if (c == '-' || c == '_') c = ' ';
  if (!title.empty() && title[0] >= 'a' && title[0] <= 'z') title[0] = static_cast<char>(title[0] - 'a' + 'A');
  return title.substr(0, limits::textLength);
}

std::string sayWhat(const notate::Notation& n) {
  char text[96];
  std::snprintf(text, sizeof text, "%d/%d at %.0f, %d bar%s", n.meter.numerator, n.meter.denominator,
                n.quartersPerMinute, n.bars, n.bars == 1 ? "" : "s");
  std::string out = text;
  if (!n.answer.empty()) out += " and an answer";
  if (!n.lift.empty()) out += ", and a lift";
  if (n.grid.swing > 1) {
    std::snprintf(text, sizeof text, ", swing %.2f", n.grid.swing);
    out += text;
  }
  return out;
}

}  // namespace

int commandNotate(const NotateWords& w) {
  notate::Wishes wishes;
  wishes.asHeld = w.asHeld;
  if (!w.chord.empty()) {
    const auto chord = parseSymbol(w.chord);
    if (!chord || chord->none())
      return complain("--chord " + w.chord + ": is no chord symbol; say it as C, Am, G7 or F#m7b5", exitBadWords);
    wishes.chord = *chord;
  }
  if (!w.meter.empty()) {
    const auto meter = readMeter(w.meter);
    if (!meter.good()) return complain("--meter " + w.meter + ": " + meter.fault, exitBadWords);
    wishes.meter = meter.value;
  }
  if (!w.tempo.empty()) {
    const auto tempo = readNumber(w.tempo, 20, 400);
    if (!tempo.good()) return complain("--tempo " + w.tempo + ": " + tempo.fault, exitBadWords);
    wishes.quartersPerMinute = tempo.value;
  }
  const std::filesystem::path output(w.output);
  const std::string stem = output.stem().string();
  if (output.extension() != ".toml")
    return complain("-o " + w.output + ": a pattern file's name ends in .toml", exitBadWords);
  if (stem.empty() || notate::idFrom(stem) != stem)
    return complain("-o " + w.output + ": is called by small letters, digits and hyphens, such as " +
                        (notate::idFrom(stem).empty() ? std::string("my-waltz") : notate::idFrom(stem)) + ".toml",
                    exitBadWords);
  std::error_code none;
  if (!w.force && std::filesystem::exists(output, none))
    return complain(w.output + ": is there already; name another, or say --force to write over it");
  const auto file = readMidi(w.input);
  if (!file.good()) return complain(file.fault);
  const auto figure = notate::notate(takeOf(file.value), wishes);
  if (!figure.fault.empty()) return complain(w.input + ": " + figure.fault);
  for (const auto& remark : figure.remarks) std::fprintf(stderr, "seguente: %s\n", remark.c_str());
  const std::string source = std::filesystem::path(w.input).filename().string();
  OutputFile out(w.output);
  out.write(notate::patternText(figure, {stem, w.title.empty() ? titleFrom(stem) : w.title, source}));
  if (const auto fault = out.commit(); !fault.empty()) return complain(fault);
  std::printf("%s: %s\n", w.output.c_str(), sayWhat(figure).c_str());
  return exitDone;
}

}  // namespace seguente
