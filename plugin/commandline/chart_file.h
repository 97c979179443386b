// Chord symbols over bars, from a text ("| C | F G | C |"), ABC's quoted symbols, or MusicXML's harmony.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "dsp/input.h"
#include "dsp/time.h"
#include "plugin/commandline/chart_repeats.h"
#include "plugin/commandline/checked.h"
#include "plugin/commandline/tempo_map.h"

namespace seguente {

/// Ticks count from the chart's own start; `pickup` is its incomplete first bar. [any]
struct Chart {
  std::vector<Expectation> chords;
  Ticks pickup{};
  bool ownBars = false;              // false: a text, laid over the file's bars from the first whole one
  std::vector<std::string> symbols;  // as written, one a chord
};

/// A text chart before it meets bars: each bar's entries share it evenly. [any]
struct ChartBar {
  struct Entry {
    std::string symbol;
    bool hold = false;
    bool end = false;
    bool turnaround = false;
    bool tag = false;  // from this bar on it is played once more
    int line = 1;      // where it stands, for messages
    int column = 1;
  };
  std::vector<Entry> entries;
};

/// The chart as it is played: repeats, endings, da capo written out. errors: repeats without end. [message]
Checked<Chart> playedOut(const Chart& chart, const std::vector<RepeatSign>& signs, Ticks end);

/// Text: bars between "|"; "%" repeats the bar before; "/" holds on the chord before it for one more share; "N.C." is
/// silence; "!fermata!", "!fine!" and "!turnaround!" before or after a symbol mark hold, end, and where the idiom's
/// turnaround is played; "!tag!" stands in the bar from which the last phrase is played once more, fine with it; "|:",
/// ":|", "|1" and "|2" repeat; "#" to the line's end is a remark. errors: "LINE:COLUMN: what". [message]
Checked<std::vector<ChartBar>> parseChartText(std::string_view text);

/// Lays text bars over the piece's bars, from the first whole one. errors: a symbol that is none. [message]
Checked<Chart> layOver(const std::vector<ChartBar>& bars, const TempoMap& time);

/// ABC: quoted chord symbols at exact times; M:, L:, K: and note lengths, tuplets and broken rhythm. [message]
Checked<Chart> parseAbcChart(std::string_view text);

/// MusicXML (partwise, uncompressed): harmony of every part and measure, offsets and divisions. [message]
Checked<Chart> parseMusicXmlChart(std::string_view text);

/// Reads whichever of the three a file is (by its content) and, for a text, lays it over the piece.
/// errors: one line with the file's name. [message]
Checked<Chart> readChart(const std::string& path, const TempoMap& time);

}  // namespace seguente
