#include "plugin/page/reading.h"

#include <algorithm>

namespace seguente::page {
namespace {

constexpr double graceLength = 0.125;  // of a quarter: crushed in before its note. Common practice, no source

/// Straight as written, long and short as played: eighths within each beat of a quarter.
double played(Ticks straight, std::int32_t swing) {
  const double quarters = static_cast<double>(straight.value) / static_cast<double>(quarter.value);
  if (swing == 1000) return quarters;
  const double beat = static_cast<double>(floorDivide(straight.value, quarter.value));
  const double place = quarters - beat, longer = swing / (1000.0 + swing);
  return beat + (place < 0.5 ? place * 2 * longer : longer + (place - 0.5) * 2 * (1 - longer));
}

struct Reader {
  const Bar& bar;
  std::vector<ReadNote> notes;

  void head(const Note& note, Ticks at, double on, double off) {
    if (note.source == Source::held) return;
    if (note.tiedIn)
      for (auto& before : notes)
        if (before.key == note.key && before.noteId == note.noteId && before.off > on - 0.01) {
          before.off = std::max(before.off, off);
          return;
        }
    notes.push_back({on, off, at, note.key, note.noteId, note.source, note.reason.part});
  }

  void voice(const Voice& voice) {
    for (const auto& event : voice.events) {
      const double on = played(event.at, bar.swing), off = played(event.at + event.length, bar.swing);
      double before = on - graceLength * static_cast<double>(event.graces.size());
      for (const auto& grace : event.graces) {
        head(grace, event.at, std::max(0.0, before), std::max(0.0, before) + graceLength);
        before += graceLength;
      }
      for (const auto& note : event.notes) head(note, event.at, on, off);
    }
  }
};

}  // namespace

std::vector<ReadNote> readingOf(const Bar& bar) {
  Reader reader{bar, {}};
  for (const auto& staff : bar.staves)
    for (const auto& voice : staff.voices) reader.voice(voice);
  std::stable_sort(reader.notes.begin(), reader.notes.end(),
                   [](const ReadNote& a, const ReadNote& b) { return a.on < b.on; });
  return std::move(reader.notes);
}

}  // namespace seguente::page
