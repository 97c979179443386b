#include "plugin/page/reading.h"

#include <algorithm>

namespace seguente::page {
namespace {

constexpr double graceLength = 0.125;  // of a quarter: crushed in before its note. Common practice, no source

/// Straight as written, long and short as played; in quarter notes.
double played(Ticks straight, const Bar& bar) {
  const Ticks place = bar.swing == 1000 ? straight : swung(straight, bar.swing, bar.swingPair);
  return static_cast<double>(place.value) / static_cast<double>(quarter.value);
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
      const double on = played(event.at, bar), off = played(event.at + event.length, bar);
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
