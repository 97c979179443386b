// One staff of one bar, laid out around its own lines: y = 0 is the upper line, 4 the lower; x as the system says.
#pragma once

#include <functional>
#include <map>
#include <vector>

#include "plugin/page/engraving.h"
#include "plugin/page/marks.h"

namespace seguente::page {

namespace grid {
inline constexpr double staffLine = 0.11, stem = 0.13, barLine = 0.16, beam = 0.5, beamStep = 0.75, ledger = 0.38,
                        ledgerLine = 0.15, stemLength = 3.5, headWidth = 1.18, accidentalGap = 0.22;
}

/// Which lines a staff has. [any]
struct StaffShape {
  Glyph clef = Glyph::trebleClef;
  int bottomStep = 2;  // the step of the lowest line
  bool oneLine = false;
  double yOf(int step) const { return 4 - (step - bottomStep) / 2.0; }
};
StaffShape shapeOf(StaffKind kind);
/// Percussion has no pitch: its heads lie over, on and under the one line. [any]
int percussionStep(NoteNumber key);

/// What notes that sound together need beside their heads, worked out once. [any]
struct Column {
  struct Head {
    const Note* note = nullptr;
    double dx = 0;  // from the column's middle
    double y = 0;
    bool displaced = false;
  };
  const Event* event = nullptr;
  std::size_t voice = 0;
  bool up = true;
  double shift = 0;  // of the whole event, when another voice stands in its way
  std::vector<Head> heads;
  struct Sign {
    Glyph glyph = Glyph::sharp;
    double dx = 0, y = 0;
  };
  std::vector<Sign> signs;
  double left = 0, right = 0;  // how far it reaches from the column's middle, both positive
};

/// Columns of a staff in a bar, the voices' stems, seconds, accidentals settled; nothing is placed in x yet. [any]
std::vector<Column> columnsOf(const Staff& staff, const StaffShape& shape);
/// How far the columns of one moment reach together to the left (graces included) and right. [any]
double graceWidth(const Event& event);

/// A tie that waits for its other end. [any]
struct OpenTie {
  Point from{};
  double direction = 1;
};
using OpenTies = std::map<int, OpenTie>;  // by key of the keyboard

struct StaffDrawing {
  std::vector<Mark> marks;
  std::vector<HeadPlace> heads;
  double top = 0, bottom = 4;  // how far it reaches, staff lines included
};

/// What the drawing of a staff in a bar is told. [any]
struct StaffTask {
  const Bar* bar = nullptr;
  const Staff* staff = nullptr;
  StaffShape shape;
  bool coloured = false;
  double left = 0, right = 0;  // the bar's lines
  std::function<double(Ticks)> xOf;
};
/// Draws into `drawing`; takes ties over from the bar before and leaves those that go on. [any]
void drawStaff(const StaffTask& task, OpenTies& ties, StaffDrawing& drawing);

}  // namespace seguente::page
