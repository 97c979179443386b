#include "plugin/commandline/picture.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/commandline/picture_notes.h"
#include "plugin/commandline/staff.h"

namespace seguente {

namespace {

constexpr double pageWidth = 1240;
constexpr double left = 92;  // room for the staves' names
constexpr double right = 1222;
constexpr std::size_t barsASystem = 4;
constexpr std::size_t mostSystems = 5;  // a picture, not the whole score
constexpr double systemHeight = 268;
constexpr double firstSystem = 92;
constexpr double sp = staffSpace;

/// The three staves of a system: the tune, the plain chords of the hand, the accompaniment. Offsets of the top lines.
constexpr double tuneTop = 34;
constexpr double heldTop = 108;
constexpr double ourTop = 178;

/// The step (middle C = 0) of a staff's lowest line: E4 in the treble, G2 in the bass clef.
constexpr int trebleBottom = 2;
constexpr int bassBottom = -10;

Key keyOf(const Rendering& r) {
  for (auto row = r.chords.rbegin(); row != r.chords.rend(); ++row)
    if (row->key.known) return row->key;
  return {};
}

/// One bar's place on the page.
struct BarBox {
  Bar bar;
  double from = 0;
  double to = 0;
  double xOf(Ticks t) const {
    const double part = static_cast<double>((t - bar.start).value) / static_cast<double>((bar.end - bar.start).value);
    return from + 26 + part * (to - from - 30);
  }
};

class Score {
 public:
  Score(const Performance& p, const Rendering& r, const TimeWishes& wishes)
      : p_(p), r_(r), voices_(voicesOf(p, r)), key_(keyOf(r)) {
    const Ticks end = p.time.engineTick(p.lastTick);
    bars_ = p.time.bars(end);
    const Ticks first = bars_.empty() ? end : bars_.front().start;
    if (first.value > 0) bars_.insert(bars_.begin(), {Ticks{}, first, p.time.meterAt({})});
    all_ = bars_.size();
    // A bar in which nothing begins any more is no bar.
    while (!bars_.empty() && !anything(bars_.back())) bars_.pop_back();
    pickup_ = wishes.pickup.value > 0 || first.value > 0;
  }
  std::string draw();

 private:
  bool anything(const Bar& bar) const {
    const auto in = [&](const std::vector<Drawn>& v) {
      return std::any_of(v.begin(), v.end(), [&](const Drawn& d) { return d.at >= bar.start && d.at < bar.end; });
    };
    return in(voices_.tune) || in(voices_.held) || in(voices_.ours);
  }
  void heading();
  void legend(double y);
  void system(std::size_t firstBar, double top);
  void staff(double top, bool treble, std::string_view name);
  void signature(double top, bool treble);
  void meter(double top, Meter m);
  void notes(const BarBox& box, const std::vector<Drawn>& voice, double top, int bottomStep, Ink ink);
  const Chord* chordAt(Ticks at) const;
  NoteValue valueAt(const Drawn& note, Ticks next, Ink ink) const;
  void group(const std::vector<StaffPlace>& places, double x, double top, int bottomStep, Ink ink,
             const NoteValue& value);
  void symbols(const BarBox& box, double top);
  void count(const BarBox& box, double top);

  const Performance& p_;
  const Rendering& r_;
  Voices voices_;
  Key key_;
  std::vector<Bar> bars_;
  std::size_t all_ = 0;
  bool pickup_ = false;
  Page page_;
};

/// "Bb7" as printed, without the hand's own bass (what is held is drawn below it).
std::string printedSymbol(const Chord& chord) {
  std::string out;
  const auto text = symbolOf(chord);
  const auto symbol = text.view();
  for (std::size_t i = 0; i < symbol.size(); ++i) {
    const char c = symbol[i];
    const bool letterNext = i + 1 < symbol.size() && symbol[i + 1] >= 'A' && symbol[i + 1] <= 'G';
    const bool digitNext = i + 1 < symbol.size() && symbol[i + 1] >= '0' && symbol[i + 1] <= '9';
    if (c == '/' && letterNext) break;
    if (c == '#')
      out += "\u266F";
    else if (c == 'b' && (i == 1 || digitNext))
      out += "\u266D";
    else
      out += c;
  }
  return out;
}

void Score::heading() {
  const Idiom* idiom = p_.playing.empty() ? nullptr : p_.playing.front().idiom;
  page_.text(pageWidth / 2, 40, 24, idiom != nullptr ? idiom->title : "As held", {}, "middle");
  const double tempo = p_.time.points().front().anchor.quartersPerMinute;
  page_.text(left, 40, 15, svgNumber(std::round(tempo)) + " quarter notes a minute", "font-style=\"italic\"");
  if (key_.known) page_.text(right, 40, 15, "in " + std::string(nameOf(key_).view()), "font-style=\"italic\"", "end");
}

void Score::signature(double top, bool treble) {
  // Where the signs stand, in half spaces from the lowest line: common engraving.
  constexpr std::array<int, 7> sharps{8, 5, 9, 6, 3, 7, 4};
  constexpr std::array<int, 7> flats{4, 7, 3, 6, 2, 5, 1};
  const int count = signatureOf(key_);
  for (int i = 0; i < std::abs(count); ++i) {
    const int place = (count > 0 ? sharps : flats)[static_cast<std::size_t>(i)] - (treble ? 0 : 2);
    page_.accidental(left + 32 + 7 * i, top + 4 * sp - place * sp / 2, count > 0 ? 1 : -1);
  }
}

void Score::staff(double top, bool treble, std::string_view name) {
  for (int i = 0; i < 5; ++i) page_.line(left, top + i * sp, right, top + i * sp, 0.9, "#333333");
  if (treble)
    page_.trebleClef(left + 14, top + 3 * sp);
  else
    page_.bassClef(left + 13, top + sp);
  signature(top, treble);
  page_.text(left - 12, top + 2 * sp + 5, 14, name, "font-style=\"italic\"", "end");
}

void Score::meter(double top, Meter m) {
  const double x = left + 46 + 7 * std::abs(signatureOf(key_));
  page_.text(x, top + 2 * sp - 0.5, 22, std::to_string(m.numerator), "font-weight=\"700\"", "middle");
  page_.text(x, top + 4 * sp - 0.5, 22, std::to_string(m.denominator), "font-weight=\"700\"", "middle");
}

/// Notes that begin together: heads, ledger lines, signs, dots, one stem with flags.
void Score::group(const std::vector<StaffPlace>& places, double x, double top, int bottomStep, Ink ink,
                  const NoteValue& value) {
  const std::string_view colour = ink == Ink::melody ? "#0072B2" : ink == Ink::accompaniment ? "#D55E00" : "#111111";
  const auto yOf = [&](int step) { return top + 4 * sp - (step - bottomStep) * sp / 2; };
  bool shifted = false;
  double signX = x - 12;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const StaffPlace& place = places[i];
    shifted = i > 0 && place.step - places[i - 1].step == 1 && !shifted;  // a second: the upper head to the right
    for (int s = bottomStep - 2; s >= place.step; s -= 2) page_.line(x - 8, yOf(s), x + 8, yOf(s), 1);
    for (int s = bottomStep + 10; s <= place.step; s += 2) page_.line(x - 8, yOf(s), x + 8, yOf(s), 1);
    if (place.accidental) page_.accidental(signX, yOf(place.step), place.alteration);
    if (place.accidental) signX -= 8;
    page_.head(x + (shifted ? 9.5 : 0), yOf(place.step), ink, value.open);
    if (value.dot && ink != Ink::held)  // in the space: of a line the one above it
      page_.dot(x + (shifted ? 19 : 10), yOf(place.step) - ((place.step - bottomStep) % 2 == 0 ? sp / 2 : 0), ink);
  }
  if (ink == Ink::held || !value.stem) return;  // a whole note; or held for as long as its symbol stands: no stem
  const int middle = bottomStep + 4;
  const bool up = middle - places.front().step > places.back().step - middle;
  const double stemX = x + (up ? 4.8 : -4.8);
  const double from = yOf(up ? places.front().step : places.back().step);
  const double far = yOf(up ? places.back().step : places.front().step) + (up ? -3.5 : 3.5) * sp;
  const double end = up ? std::min(far, yOf(middle)) : std::max(far, yOf(middle));
  page_.line(stemX, from, stemX, end, 1.1, colour);
  for (int f = 0; f < value.flags; ++f)
    page_.raw("<path d=\"M" + svgNumber(stemX) + " " + svgNumber(end + (up ? 6 : -6) * f) +
              (up ? "c1 6 8 7 6 15" : "c1-6 8-7 6-15") + "\" fill=\"none\" stroke=\"" + std::string(colour) +
              "\" stroke-width=\"1.6\"/>\n");
}

/// The chord that sounds at a tick, or null.
const Chord* Score::chordAt(Ticks at) const {
  const Chord* found = nullptr;
  for (const HeardRow& row : r_.chords) {
    if (printed(row.from) > at) break;
    found = at < row.to ? &row.chord : nullptr;
  }
  return found;
}

/// A tune's note is as long as the way to the next one, when it sounds for the better half of it. Ours are detached by
/// the idiom's touch: a beat of theirs is written as a beat.
NoteValue Score::valueAt(const Drawn& note, Ticks next, Ink ink) const {
  const Ticks gap = next - note.at;
  const Ticks sounds = ink == Ink::accompaniment && gap >= quarter ? std::max(note.sounds, quarter) : note.sounds;
  const bool whole = gap.value > 0 && sounds.value * 2 > gap.value;
  const Ticks length = whole ? gap : std::min(sounds, gap);
  return valueOf(static_cast<double>(length.value) / static_cast<double>(quarter.value));
}

void Score::notes(const BarBox& box, const std::vector<Drawn>& voice, double top, int bottomStep, Ink ink) {
  BarSigns signs(key_);
  for (std::size_t i = 0; i < voice.size();) {
    std::size_t end = i;
    while (end < voice.size() && voice[end].at == voice[i].at) ++end;
    if (voice[i].at >= box.bar.start && voice[i].at < box.bar.end) {
      std::vector<StaffPlace> places;
      const Chord* chord = ink == Ink::melody ? nullptr : chordAt(voice[i].at);
      for (std::size_t k = i; k < end; ++k)
        if (k == i || voice[k].note != voice[k - 1].note) places.push_back(placeOf(voice[k].note, key_, chord));
      std::sort(places.begin(), places.end(), [](const StaffPlace& a, const StaffPlace& b) { return a.step < b.step; });
      for (StaffPlace& place : places) signs.mark(place);
      // No ties are drawn: a note is written as far as its bar goes.
      const Ticks next = end == voice.size() ? box.bar.end : std::min(voice[end].at, box.bar.end);
      group(places, box.xOf(voice[i].at), top, bottomStep, ink, valueAt(voice[i], next, ink));
    }
    i = end;
  }
}

void Score::symbols(const BarBox& box, double top) {
  for (const HeardRow& row : r_.chords) {
    const Ticks at = printed(row.from);
    if (at < box.bar.start || at >= box.bar.end) continue;
    const std::string symbol = printedSymbol(row.chord);
    const double x = box.xOf(at) - 6;
    page_.text(x, top + 10, 18, symbol, "font-weight=\"700\"");
    const auto numeral = numeralOf(row.chord, row.key);
    const auto characters = std::count_if(symbol.begin(), symbol.end(), [](char c) { return (c & 0xC0) != 0x80; });
    const double wide = static_cast<double>(characters) * 10.5 + 8;
    if (row.to - row.from >= quarter)
      page_.text(x + wide, top + 10, 13, numeral.view(), "font-style=\"italic\" fill=\"#555555\"");
  }
}

void Score::count(const BarBox& box, double top) {
  const Ticks beat = box.bar.meter.beat();
  // An incomplete first bar counts towards the bar line: its last beat is the meter's last.
  const std::int64_t beats = (box.bar.end - box.bar.start).value / beat.value;
  const std::int64_t missing = pickup_ && box.bar.start.value == 0 ? box.bar.meter.numerator - beats : 0;
  for (std::int64_t b = 0; b < beats; ++b)
    page_.text(box.xOf(box.bar.start + beat * b), top + 258, 13,
               std::to_string(b + 1 + std::max<std::int64_t>(missing, 0)), "fill=\"#555555\"", "middle");
}

void Score::system(std::size_t firstBar, double top) {
  staff(top + tuneTop, true, "melody");
  staff(top + heldTop, false, "you hold");
  staff(top + ourTop, false, "it plays");
  const bool first = firstBar == 0;
  if (first)
    for (const double offset : {tuneTop, heldTop, ourTop}) meter(top + offset, bars_.front().meter);
  page_.line(left, top + tuneTop, left, top + ourTop + 4 * sp, 1.3);
  double x = left + 44 + 7 * std::abs(signatureOf(key_)) + (first ? 16 : 0);
  const std::size_t end = std::min(firstBar + barsASystem + (first && pickup_ ? 1 : 0), bars_.size());
  const bool shortFirst = first && pickup_;
  const double places = static_cast<double>(barsASystem) + (shortFirst ? 0.45 : 0);
  const double unit = (right - x) / places;
  for (std::size_t b = firstBar; b < end; ++b) {
    const double width = shortFirst && b == 0 ? unit * 0.45 : unit;
    const BarBox box{bars_[b], x, x + width};
    page_.line(box.to, top + tuneTop, box.to, top + ourTop + 4 * sp, 1.3);
    symbols(box, top);
    notes(box, voices_.tune, top + tuneTop, trebleBottom, Ink::melody);
    notes(box, voices_.held, top + heldTop, bassBottom, Ink::held);
    notes(box, voices_.ours, top + ourTop, bassBottom, Ink::accompaniment);
    count(box, top);
    x += width;
  }
}

void Score::legend(double y) {
  const auto entry = [&](double x, Ink ink, std::string_view word) {
    page_.head(x, y - 5, ink);
    page_.text(x + 14, y, 14, word);
  };
  entry(left + 8, Ink::melody, "melody, as it was played");
  entry(left + 228, Ink::held, "held");
  entry(left + 308, Ink::accompaniment, "accompaniment");
}

std::string Score::draw() {
  heading();
  std::size_t bar = 0;
  double top = firstSystem - 30;
  for (std::size_t s = 0; s < mostSystems && bar < bars_.size(); ++s) {
    system(bar, top);
    bar = std::min(bar + barsASystem + (bar == 0 && pickup_ ? 1 : 0), bars_.size());
    top += systemHeight + 14;
  }
  legend(top + 18);
  if (bar < bars_.size())
    page_.text(right, top + 18, 14,
               "the first " + std::to_string(bar) + " of " + std::to_string(bars_.size()) + " bars",
               "font-style=\"italic\"", "end");
  return page_.finish(pageWidth, top + 38);
}

}  // namespace

std::string drawPicture(const Performance& p, const Rendering& r, const TimeWishes& wishes) {
  return Score(p, r, wishes).draw();
}

}  // namespace seguente
