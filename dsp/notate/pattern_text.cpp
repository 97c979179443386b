// The pattern file of a figure that was read: laid out as the shipped ones are, with remarks for whoever goes on with
// it.
#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdio>

#include "dsp/harmony.h"
#include "dsp/idiom_file.h"
#include "dsp/idiom_steps.h"
#include "dsp/notate/grid.h"
#include "dsp/notate/notate.h"

namespace seguente::notate {

namespace {

std::string noteText(int key) {
  constexpr std::array<const char*, 12> names{"C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"};
  return std::string(names[static_cast<std::size_t>(key % 12)]) + std::to_string(key / 12 - 1);
}

/// "2 1/2" in quotation marks, whole numbers without.
std::string padded(std::string text, std::size_t width) {
  if (text.size() < width) text.append(width - text.size(), ' ');
  return text;
}

/// As a remark may hold it.
std::string oneLine(std::string_view text) {
  std::string out;
  for (const char c : text) out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  return out;
}

std::string decimal(double value) {
  char text[16];
  std::snprintf(text, sizeof text, "%.2f", value);
  std::string s = text;
  while (s.ends_with('0') && s[s.size() - 2] != '.') s.pop_back();
  return s;
}

const char* wordFor(int n) {
  constexpr std::array<const char*, 9> words{"no", "one", "two", "three", "four", "five", "six", "seven", "eight"};
  return n >= 0 && n < 9 ? words[static_cast<std::size_t>(n)] : "many";
}

std::string barsText(int bars) { return std::string(wordFor(bars)) + (bars == 1 ? " bar" : " bars"); }

std::string gridText(const Notation& n) {
  const int parts = n.grid.parts;
  if (n.grid.swing > 1)
    return std::string(parts == 4 ? "sixteenths" : "eighths") + " felt long and short, " + decimal(n.grid.swing) +
           " to 1, and written straight";
  if (compound(n.meter))
    return parts == 1   ? "dotted beats"
           : parts == 3 ? "eighths, three to the beat"
           : parts == 2 ? "two to the beat"
                        : "sixteenths";
  const auto unit = n.meter.denominator == 8 ? 1 : 0;
  if (parts == 1) return unit ? "plain eighths" : "plain beats";
  if (parts == 2) return unit ? "straight sixteenths" : "straight eighths";
  if (parts == 3) return "triplets";
  return parts == 4 ? "straight sixteenths" : parts == 6 ? "sextuplets" : "thirty-seconds";
}

/// Writes the rows of one figure in columns.
class Writer {
 public:
  Writer(const Notation& n, std::string& out) : n_(n), out_(out) {}

  void rows(const std::vector<Row>& rows, const char* indent = "  ") {
    const Ticks beat = n_.meter.beat();
    std::size_t atWidth = 0, lengthWidth = 0, partWidth = 0, playWidth = 0;
    const auto partText = [&](const Row& r) { return inQuotes(n_.parts[r.part].name) + ","; };
    const auto atText = [&](const Row& r) { return beatsText(r.at + beat, beat) + ","; };
    const auto lengthText = [&](const Row& r) { return beatsText(r.length, beat) + ","; };
    for (const Row& r : rows) {
      atWidth = std::max(atWidth, atText(r).size());
      lengthWidth = std::max(lengthWidth, lengthText(r).size());
      partWidth = std::max(partWidth, partText(r).size());
      if (r.stress != 0) playWidth = std::max(playWidth, inQuotes(r.play).size());
    }
    for (const Row& r : rows) {
      out_ += std::string(indent) + "{ beat = " + padded(atText(r), atWidth) +
              " length = " + padded(lengthText(r), lengthWidth) + " part = " + padded(partText(r), partWidth) +
              " play = " + inQuotes(r.play);
      if (r.stress != 0) out_ += ", stress = " + std::to_string(r.stress);
      out_ += " },\n";
    }
  }

  void figure(const std::string& density, const char* name, const std::vector<Row>& rows, int bars) {
    if (rows.empty()) return;
    if (bars == 1) {
      out_ += "[" + density + "." + name + "]\nsteps = [\n";
    } else {
      out_ += "[" + density + "." + name + "]\nbars  = " + std::to_string(bars) + "\nsteps = [\n";
    }
    this->rows(rows);
    out_ += "]\n\n";
  }

 private:
  const Notation& n_;
  std::string& out_;
};

/// A chord that is complete at once: the bass's root, and the chord over it.
std::vector<Row> together(const Notation& n, Ticks length, int stress) {
  std::vector<Row> rows;
  if (n.asHeld) return {{{}, length, n.parts.size() - 1, "all", stress}};
  for (std::size_t p = 0; p < n.parts.size(); ++p) {
    const bool alone = n.parts.size() == 1;
    const bool bass = n.parts[p].bass;
    rows.push_back({{},
                    length,
                    p,
                    bass    ? (alone && !n.parts[p].fifthBelow ? "1+5" : "1")
                    : alone ? "1+3+5"
                            : "C",
                    bass ? stress : 0});
  }
  return rows;
}

/// The figure's own beginning, when it has a root on 1; else the chord at once.
std::vector<Row> shortForm(const Notation& n, Ticks length) {
  std::vector<Row> rows;
  bool root = false;
  for (Row r : n.statement) {
    if (r.at >= length) continue;
    r.length = std::min(r.length, length - r.at);
    root = root || (r.at == Ticks{0} &&
                    (n.asHeld ? r.play == "lowest" || r.play == "all" : r.play == "1" || r.play.starts_with("1+")));
    if (!n.asHeld && (r.play == "R" || r.play == "R~")) continue;
    rows.push_back(r);
  }
  return root ? rows : together(n, length, 0);
}

void writeHead(const Notation& n, const Heading& h, std::string& out) {
  const auto remark = [&](const char* text) {  // behind the line, in a column
    const std::size_t line = out.size() - (out.rfind('\n') + 1);
    out += std::string(line < 25 ? 25 - line : 1, ' ') + "# " + text + "\n";
  };
  const std::string symbol(symbolOf(n.chord).view());
  out += "# " + oneLine(h.title) + ": played in over " + symbol + " at " +
         std::to_string(std::lround(n.quartersPerMinute)) + " quarter notes a minute" +
         (n.tempoFound ? " (found, no click)" : "") + ", " + barsText(n.barsPlayed) + ".\n";
  const int figureBars = n.bars * (n.answer.empty() ? 1 : 2);
  out += "# The figure has " + barsText(figureBars) +
         (n.rounds > 1 ? " and came round " + std::string(n.rounds == 2 ? "twice" : wordFor(n.rounds)) +
                             (n.rounds > 2 ? " times" : "") + "; what most rounds agreed on stands here.\n"
                       : ".\n");
  out += "# Grid: " + gridText(n) + ".\n";
  out += "# Source: " + oneLine(h.source) + ".\n";
  out += "format = 1\n";
  out += "id     = " + inQuotes(h.id) + "\n";
  out += "title  = " + inQuotes(h.title) + "\n";
  out += "about  = " + inQuotes("Played in over " + symbol + "; write here what it is for.") + "\n\n";
  out += "meter  = " + inQuotes(textOf(n.meter)) + "\n";
  const auto low = std::max(10L, std::lround(n.quartersPerMinute * 0.85)),
             high = std::min(600L, std::lround(n.quartersPerMinute * 1.15));
  out += "tempo  = [" + std::to_string(low) + ", " + std::to_string(high) + "]";
  remark("quarter notes a minute, around that of the take");
  if (n.grid.swing > 1) {
    out += "swing  = " + decimal(n.grid.swing);
    remark("long : short, as it was played");
    out += "swing_range = [" + decimal(std::max(1.0, n.grid.swing - 0.4)) + ", " + decimal(n.grid.swing + 0.4) + "]\n";
    if (n.grid.pair != n.meter.beat()) {
      out += "swing_pair = " + beatsText(n.grid.pair, n.meter.beat());
      remark("the beats of one long and one short");
    }
  }
  out += "rejoin = [1]";
  remark("a chord that comes inside the bar plays a short form; the figure goes on with the next bar");
  out += "\n";
  out += "[relatives]";
  remark("who plays when the tune is in another meter; change them to your taste");
  constexpr std::array<std::pair<const char*, const char*>, 6> relatives{{{"2/4", "march"},
                                                                          {"3/4", "waltz"},
                                                                          {"4/4", "country-two-beat"},
                                                                          {"6/8", "jig-vamp"},
                                                                          {"9/8", "slip-jig"},
                                                                          {"12/8", "slide"}}};
  for (const auto& [meter, id] : relatives)
    if (textOf(n.meter) != meter) out += padded(inQuotes(meter), 6) + " = " + inQuotes(id) + "\n";
  out += "\n";
  for (const PartFound& p : n.parts) {
    out += "[parts." + p.name + "]\n";
    out += std::string("kind     = ") + (p.bass ? "\"bass\"" : "\"chords\"") + "\n";
    out += "register = [" + inQuotes(noteText(p.low)) + ", " + inQuotes(noteText(p.high)) + "]\n";
    if (p.fifthBelow) {
      out += "fifth_below = true";
      remark("5 lies under the root");
    }
    out += "program  = " + std::to_string(n.program);
    remark(n.program == 0 ? "acoustic grand piano" : "General MIDI, counted from 0");
    out += "level    = " + std::to_string(p.level) + "\n";
    if (n.pedal) {
      out += "pedal    = true";
      remark("changed with each chord");
    }
    out += "\n";
  }
}

std::string written(const Notation& n, const Heading& h, const std::string& density) {
  std::string out;
  writeHead(n, h, out);
  Writer w(n, out);
  if (density == "lean")
    out +=
        "# One left hand can play it, so it is written as lean; medium and full sound like it until you write them.\n";
  else
    out += "# Too wide or too quick for one left hand, so it is written as medium; lean and full sound like it.\n";
  w.figure(density, "statement", n.statement, n.bars);
  if (!n.answer.empty()) {
    out += "# It takes turns with the statement while the chord stays.\n";
    w.figure(density, "answer", n.answer, n.bars);
  }
  if (!n.lift.empty()) {
    out += "# The end of eight bars, as it was played.\n";
    w.figure(density, "lift", n.lift, n.liftBars);
  }
  out += "# What follows was not played but made from the figure, by common practice: change it as you like.\n";
  w.figure(density, "hold", together(n, n.meter.bar(), 0), 1);
  w.figure(density, "end", together(n, n.meter.bar(), 1), 1);
  const Ticks whole = n.meter.bar() * n.bars;
  const bool three = compound(n.meter);
  bool first = true;
  for (const int beats : three ? std::array<int, 2>{3, 1} : std::array<int, 2>{2, 1}) {
    const Ticks length = n.meter.beat() * beats;
    if (length >= whole) continue;
    if (first) out += "# When a chord lasts less than the figure, or comes inside it.\n";
    first = false;
    out += "[[" + density + ".short]]\nbeats = " + std::to_string(beats) + "\nsteps = [\n";
    w.rows(beats == 1 ? together(n, length, 0) : shortForm(n, length));
    out += "]\n\n";
  }
  while (out.ends_with("\n\n")) out.pop_back();
  return out;
}

}  // namespace

std::string patternText(const Notation& n, const Heading& h) {
  std::string lean = written(n, h, "lean");
  if (compileIdiom(lean, h.id + ".toml").faults.empty()) return lean;
  return written(n, h, "medium");
}

std::string idFrom(std::string_view name) {
  std::string id;
  for (const char c : name) {
    const auto u = static_cast<unsigned char>(c);
    if (u < 0x80 && std::isalnum(u))
      id += static_cast<char>(std::tolower(u));
    else if (!id.empty() && id.back() != '-')
      id += '-';
  }
  while (id.ends_with('-')) id.pop_back();
  return id.substr(0, limits::textLength);
}

}  // namespace seguente::notate
