// The notes of an arrangement as a picture writes them: when, which, and with which printed value.
#pragma once

#include <vector>

#include "plugin/commandline/performance.h"
#include "plugin/commandline/render.h"
#include "plugin/commandline/staff.h"

namespace seguente {

/// A printed note value. [any]
struct NoteValue {
  double quarters = 1;
  int flags = 0;
  bool open = false;  // an open head: a half and longer
  bool stem = true;
  bool dot = false;
};

/// The value nearest to a length in quarters, from a sixteenth to a dotted whole. Thirds (triplets, swung pairs) are
/// written as eighths. [any]
NoteValue valueOf(double quarters);

struct Drawn {
  Ticks at{};
  NoteNumber note{};
  Ticks sounds{};
};

/// Notes to be drawn, each list in order of time. [any]
struct Voices {
  std::vector<Drawn> tune, held, ours;
};

/// Human playing strays by some milliseconds; printed music does not. The nearest quarter or third of a beat's quarter.
Ticks printed(Ticks t);

Voices voicesOf(const Performance& performance, const Rendering& rendering);

/// Where a key stands when a chord sounds: a tone of the chord by its degree (the third of E7 in C is G#), any other by
/// the key. chord may be null. [any]
StaffPlace placeOf(NoteNumber note, const Key& key, const Chord* chord);

/// The signs of one bar on one staff: a sign counts until the bar line for its own line or space. [any]
class BarSigns {
 public:
  explicit BarSigns(const Key& key) : key_(key) {}
  /// Sets `accidental` to whether this note needs a sign here.
  void mark(StaffPlace& place);

 private:
  Key key_;
  std::vector<StaffPlace> seen_;
};

}  // namespace seguente
