// The written MIDI file: what passed, untouched, and each part of ours as a named track.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "plugin/commandline/render.h"

namespace seguente {

namespace {

constexpr std::size_t otherTrack = limits::parts;  // note-offs for keys of the tune that the file leaves down

/// True for each event that is not written: notes that the chord hand played.
std::vector<std::vector<char>> droppedEvents(const Performance& p, const Rendering& r) {
  std::vector<std::vector<char>> dropped;
  for (const MidiTrack& t : p.file.tracks) dropped.emplace_back(t.events.size(), char{0});
  for (std::size_t i = 0; i < p.inputs.size(); ++i)
    if (const EventPlace place = p.places[i]; place.track >= 0 && r.passed[i] == 0)
      dropped[static_cast<std::size_t>(place.track)][place.event] = 1;
  return dropped;
}

bool replaced(std::span<const std::uint8_t> event, const TimeWishes& wishes, bool followed) {
  if (event[0] != 0xFF || event.size() < 2) return false;
  if (followed) return event[1] == metaTempo || event[1] == metaMeter;
  return (event[1] == metaTempo && wishes.quartersPerMinute > 0) || (event[1] == metaMeter && wishes.otherMeter);
}

void addWishes(MidiFile& to, MidiTrack& track, const TimeWishes& wishes) {
  if (wishes.quartersPerMinute > 0) {
    const auto us = static_cast<std::uint32_t>(std::lround(60e6 / wishes.quartersPerMinute));
    const std::uint8_t tempo[] = {0xFF,
                                  metaTempo,
                                  3,
                                  static_cast<std::uint8_t>(us >> 16),
                                  static_cast<std::uint8_t>(us >> 8),
                                  static_cast<std::uint8_t>(us)};
    to.add(track, 0, tempo);
  }
  if (wishes.otherMeter) {
    std::uint8_t power = 0;
    while ((1 << power) < wishes.meter.denominator) ++power;
    // A click a beat (24 clocks a quarter) and eight 32nds a quarter: SMF 1.1.
    const std::uint8_t meter[] = {0xFF,  metaMeter,
                                  4,     wishes.meter.numerator,
                                  power, static_cast<std::uint8_t>(std::max(1, 96 / wishes.meter.denominator)),
                                  8};
    to.add(track, 0, meter);
  }
}

void copyTracks(MidiFile& to, const Performance& p, const Rendering& r, const TimeWishes& wishes) {
  const auto dropped = droppedEvents(p, r);
  for (std::size_t t = 0; t < p.file.tracks.size(); ++t) {
    MidiTrack& track = to.tracks.emplace_back();
    if (t == 0 && !p.followed) addWishes(to, track, wishes);
    const auto& events = p.file.tracks[t].events;
    std::size_t nextTime = 0;
    const auto addTimeUntil = [&](std::int64_t tick) {
      if (t != 0 || !p.followed) return;
      const auto& times = p.timeline.tracks.front().events;
      for (; nextTime < times.size() && times[nextTime].tick <= tick; ++nextTime)
        to.add(track, times[nextTime].tick, p.timeline.bytesOf(times[nextTime]));
    };
    for (std::size_t i = 0; i < events.size(); ++i) {
      const auto bytes = p.file.bytesOf(events[i]);
      const bool last = i + 1 == events.size() && bytes.size() > 1 && bytes[0] == 0xFF && bytes[1] == metaEndOfTrack;
      addTimeUntil(last ? std::numeric_limits<std::int64_t>::max() : events[i].tick);
      if (dropped[t][i] == 0 && !replaced(bytes, wishes, p.followed)) to.add(track, events[i].tick, bytes);
    }
  }
  for (const OtherChunk& chunk : p.file.others) {
    to.others.push_back({static_cast<std::uint32_t>(to.bytes.size()), chunk.length});
    const auto* from = p.file.bytes.data() + chunk.offset;
    to.bytes.insert(to.bytes.end(), from, from + chunk.length);
  }
}

/// The part that each event of ours belongs to, or otherTrack.
std::vector<std::size_t> partsOf(const Performance& p, const Rendering& r) {
  std::vector<std::size_t> partOfNote;
  std::vector<std::size_t> parts;
  parts.reserve(r.ours.size());
  for (const OurEvent& e : r.ours) {
    std::size_t part = otherTrack;
    if (e.noteId == 0 && e.kind != OutputKind::controller) {
      parts.push_back(otherTrack);  // the tune's own: withdrawn, closed or sent late
      continue;
    }
    if (e.kind == OutputKind::noteOn) {
      part = std::min<std::size_t>(e.reason.part, limits::parts - 1);
      if (e.noteId >= partOfNote.size()) partOfNote.resize(e.noteId + 64, otherTrack);
      partOfNote[e.noteId] = part;
    } else if (e.kind == OutputKind::noteOff) {
      if (e.noteId < partOfNote.size()) part = partOfNote[e.noteId];
    } else {
      for (const Playing& playing : p.playing)
        for (std::size_t i = 0; i < limits::parts; ++i)
          if (playing.fileTick <= e.fileTick && playing.channels.channel[i] == (e.bytes[0] & 0x0F)) part = i;
    }
    parts.push_back(part);
  }
  return parts;
}

/// Events of one part in order of tick. A note that rounding left without length gets one tick, unless its key is
/// struck again at once (a file of few ticks a quarter cannot say more).
std::vector<OurEvent> eventsOf(const Rendering& r, const std::vector<std::size_t>& parts, std::size_t part) {
  std::vector<OurEvent> events;
  for (std::size_t i = 0; i < r.ours.size(); ++i)
    if (parts[i] == part) events.push_back(r.ours[i]);
  std::array<std::int64_t, limits::keys> nextStrike{};
  std::array<std::size_t, limits::keys> nextOff{};
  nextStrike.fill(std::numeric_limits<std::int64_t>::max());
  nextOff.fill(events.size());
  for (std::size_t i = events.size(); i-- > 0;) {
    const auto key = static_cast<std::size_t>(events[i].bytes[1] & 0x7F);
    if (events[i].kind == OutputKind::noteOff) nextOff[key] = i;
    if (events[i].kind != OutputKind::noteOn) continue;
    if (nextOff[key] < events.size() && events[nextOff[key]].fileTick <= events[i].fileTick)
      events[nextOff[key]].fileTick = std::min(events[i].fileTick + 1, nextStrike[key]);
    nextStrike[key] = events[i].fileTick;
  }
  std::stable_sort(events.begin(), events.end(),
                   [](const OurEvent& a, const OurEvent& b) { return a.fileTick < b.fileTick; });
  return events;
}

const Part* partAt(const Playing& playing, std::size_t part) {
  if (playing.idiom == nullptr || part >= playing.idiom->parts.size()) return nullptr;
  return ((playing.channels.partsOff >> part) & 1) != 0 ? nullptr : &playing.idiom->parts[part];
}

std::string nameOfTrack(const Performance& p, std::size_t part) {
  if (part == otherTrack) return "let go";
  for (const Playing& playing : p.playing)
    if (const Part* found = partAt(playing, part); found != nullptr && !found->name.empty()) return found->name;
  return "part " + std::to_string(part + 1);
}

/// A program change where the part begins and wherever a relative gives it another sound.
void addPrograms(MidiFile& to, MidiTrack& track, const Performance& p, std::size_t part, std::int64_t after,
                 std::int64_t until) {
  for (const Playing& playing : p.playing) {
    const Part* found = partAt(playing, part);
    if (found == nullptr || playing.fileTick <= after || playing.fileTick > until) continue;
    const std::uint8_t program[] = {static_cast<std::uint8_t>(0xC0 | playing.channels.channel[part]),
                                    static_cast<std::uint8_t>(found->program & 0x7F)};
    to.add(track, playing.fileTick, program);
  }
}

void addTrack(MidiFile& to, const Performance& p, const std::vector<OurEvent>& events, std::size_t part) {
  MidiTrack track;
  to.add(track, 0, metaEvent(metaTrackName, nameOfTrack(p, part)));
  std::int64_t now = -1;
  for (const OurEvent& e : events) {
    if (e.fileTick > now) addPrograms(to, track, p, part, now, e.fileTick);
    now = e.fileTick;
    to.add(track, e.fileTick, e.bytes);
  }
  to.add(track, std::max<std::int64_t>(now, 0), metaEvent(metaEndOfTrack, {}));
  to.tracks.push_back(std::move(track));
}

}  // namespace

MidiFile arrangedFile(const Performance& p, const Rendering& r, const TimeWishes& wishes) {
  MidiFile to;
  to.format = 1;
  to.resolution = p.file.resolution;
  to.bytes.reserve(p.file.bytes.size() + r.ours.size() * 3 + 256);
  copyTracks(to, p, r, wishes);
  const auto parts = partsOf(p, r);
  for (std::size_t part = 0; part <= otherTrack; ++part) {
    const auto events = eventsOf(r, parts, part);
    const bool sounds =
        std::any_of(events.begin(), events.end(), [](const OurEvent& e) { return e.kind != OutputKind::controller; });
    if (sounds) addTrack(to, p, events, part);
  }
  return to;
}

}  // namespace seguente
