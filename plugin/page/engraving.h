// Lays bars out as a printed page: lines, outlines and text in staff spaces, with a word for each ink. Knows no screen
// and no file; svg.h and the screen turn the marks into theirs.
//
// Grid (the project's look): staff 4 spaces, gap between staves 5 and more, lines 0.11, stems 0.13, bar lines 0.16,
// beams 0.5 (0.75 from one to the next), ledger lines 0.38 over each side, stems 3.5 and at least to the middle line. A
// head's middle lies at its true fraction of the bar, from the first beat to the bar line. Rules of stems, beams, ties,
// dots, seconds, accidentals and rests: common notation textbooks, from memory.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "plugin/page/glyphs.h"
#include "plugin/page/lettering.h"
#include "plugin/page/score.h"

namespace seguente::page {

/// What a mark is drawn with; whoever draws knows the colours, light and dark. [any]
enum class Token : std::uint8_t { ink, staff, soft, coming, rule, band, melody, accompaniment };
enum class Anchor : std::uint8_t { start, middle, end };

/// One thing to draw. [any]
struct Mark {
  enum class Kind : std::uint8_t { line, box, outline, glyph, text };
  Kind kind = Kind::line;
  Token token = Token::ink;
  Point a{}, b{};        // line: its ends; box: two corners; glyph, text: a is its zero (text: on the base line)
  double thickness = 0;  // line
  bool dashed = false;   // line
  Glyph glyph = Glyph::dot;
  double scale = 1;  // glyph
  Outline outline{};
  std::string text{};
  double size = 0;  // text: the em
  Style style = Style::roman;
  Anchor anchor = Anchor::start;
};
/// What a mark covers; of text its letters' height. [any]
Box boxOf(const Mark& mark);

/// Where something of the score is on the page, for pointing at it. [any]
struct BarPlace {
  std::uint64_t ordinal = 0;
  std::size_t system = 0;
  Box box{};             // from bar line to bar line, top of the upper staff to the foot of the lowest
  double firstBeat = 0;  // x of the bar's first place; its last lies at box.right
  /// x of a place in the bar.
  double xOf(Ticks at, Ticks length) const {
    return firstBeat + (box.right - firstBeat) * static_cast<double>(at.value) / static_cast<double>(length.value);
  }
};
struct HeadPlace {
  std::uint64_t ordinal = 0;
  std::uint32_t noteId = 0;
  Source source = Source::melody;
  NoteNumber key{};
  Ticks at{};
  Point middle{};
  double staffTop = 0;     // y of the staff's upper line
  bool displaced = false;  // beside its stem, for a second or another voice
  bool grace = false;
};

struct Sheet {
  double width = 0, height = 0;
  std::vector<Mark> marks;  // in the order of drawing
  std::vector<BarPlace> bars;
  std::vector<HeadPlace> heads;
};

/// Over the first bar. Empty parts are left out. [any]
struct Heading {
  std::string title;
  std::string idiom;             // in italics after the tempo
  double quartersPerMinute = 0;  // 0: none
  std::string footnote;          // under the last system, to the right
  std::string right;             // "in F"
};

struct EngravingOptions {
  double width = 153;           // staff spaces
  double margin = 1;            // on each side
  std::size_t barsASystem = 4;  // at most; fewer where they need the room
  std::size_t systems = 0;      // at most; 0 all
  bool even = false;            // the screen: every system has barsASystem places, however full, and nothing moves
  enum class Colour : std::uint8_t { none, sounding, all } colour = Colour::none;
  bool final = false;  // a final bar line after the last bar
  Heading heading;
  std::string upperName, lowerName;  // before the first system's staves
  /// The playhead: over which bar and place.
  struct Playhead {
    std::uint64_t ordinal = 0;
    Ticks at{};
  };
  std::optional<Playhead> playhead;
  const Bar* before = nullptr;  // the bar that stands before the first one, on another sheet
  bool drawHead = true;  // false: the playhead counts the beat only; whoever moves it thirty times a second draws it
  /// Kept free over the upper staff, below it, and below the lower one, so that nothing moves as notes come.
  double over = 0, between = 0, under = 0;
};

/// Bars in order. [message] errors: none; no bars, an empty sheet.
Sheet engrave(std::span<const Bar> bars, const EngravingOptions& options);

}  // namespace seguente::page
