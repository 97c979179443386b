#include "plugin/editor/stand_page.h"

#include <algorithm>
#include <cmath>

#include "dsp/harmony.h"
#include "plugin/editor/drawing.h"
#include "plugin/editor/held_names.h"
#include "plugin/editor/strings.h"
#include "plugin/editor/time_view.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int targetHigh = 112;
constexpr int headHeight = 84;  // the piece, the idiom, the way back; over it all
constexpr float chordSize = 236, chordLeast = 96, beatNow = 180, beatSize = 108;
constexpr int mostCounted = 6;  // more beats: only the one that is, of how many

juce::String inBeats(std::int64_t beats) {
  if (beats == 1) return plain(words::inOneBeat);
  return plain(words::inBeats).replace("%", juce::String(static_cast<juce::int64>(beats)));
}

}  // namespace

StandView::StandView(const Look& look) : Element(look, plain(words::stand), juce::AccessibilityRole::staticText) {}

/// By one factor, to 0.6, so that two metres stay two metres.
float StandView::unit() const {
  return std::clamp(
      std::min(static_cast<float>(getWidth()) / 1248.0f, static_cast<float>(getHeight()) / static_cast<float>(highest)),
      0.3f, 1.6f);
}

juce::Rectangle<int> StandView::area(int x, int y, int wide, int high) const {
  const float u = unit();
  return juce::Rectangle<float>(static_cast<float>(x) * u, static_cast<float>(y + headHeight) * u,
                                static_cast<float>(wide) * u, static_cast<float>(high) * u)
      .toNearestInt()
      .getIntersection(getLocalBounds());
}

void StandView::refresh(LiveScore& score, const juce::String& idiom, const juce::String& piece,
                        const juce::String& remark) {
  const auto& view = score.view();
  Shown now;
  now.idiom = idiom;
  now.piece = piece;
  now.remark = remark;
  now.playing = view.playing;
  now.holding = view.holding;
  if (view.hasChord) {
    now.chord = plain(page::printedSymbol(view.chord));
    now.numeral = printedNumeral(numeralOf(view.chord, view.key).view());
  }
  if (view.expects) {
    now.then = plain(page::printedSymbol(view.expected));
    const auto numeral = printedNumeral(numeralOf(view.expected, view.key).view());
    now.thenSaid = plain(words::then) + (numeral.isEmpty() ? juce::String() : ", " + numeral) +
                   inBeats(beatsUntil(view, view.expectedAt));
  }
  now.round = roundText(view);
  const auto at = barBeatOf(view);
  now.bar = at.bar;
  now.beat = view.playing ? at.beat : 0;
  now.beats = view.meter.valid() ? view.meter.numerator : 4;
  auto& writer = score.writer();
  const auto end = writer.end();
  juce::String sounding;
  for (int i = 0; i < 4; ++i) {
    Bar bar;
    const auto ordinal = end + static_cast<std::uint64_t>(i);
    if (end > writer.first() && ordinal >= 2 + writer.first() && ordinal - 2 < end)
      if (const auto* written = writer.bar(ordinal - 2)) {
        bar.known = true;
        for (const auto& mark : written->chords) {
          const auto symbol = plain(mark.symbol);
          if (!bar.chord.endsWith(symbol)) bar.chord << (bar.chord.isEmpty() ? "" : " ") << symbol;
        }
        bar.now = ordinal - 1 == end;
      }
    now.bars.push_back(bar);
  }
  if (!show(*this, shown_, now)) return;
  setTitle(plain(words::stand) + ": " + (now.piece.isEmpty() ? "" : now.piece + ", ") +
           (now.chord.isEmpty() ? plain(words::noChord) : now.chord) +
           (now.numeral.isEmpty() ? "" : ", " + now.numeral) + ", " +
           (now.then.isEmpty() ? "" : plain(words::then) + " " + now.then + ", ") +
           (now.round.isEmpty() ? "" : now.round + ", ") + plain(words::bar) + juce::String(now.bar) + ", " +
           plain(words::beat) + juce::String(now.beat));
}

std::vector<PlacedText> StandView::texts() const {
  std::vector<PlacedText> all;
  const float u = unit();
  const auto fit = [&](const juce::String& text, float size, float least, Weight weight, juce::Rectangle<int> where,
                       Ink ink, Side side) {
    if (text.isEmpty()) return;
    auto face = font(size * u, weight);
    if (const int wide = widthOf(face, text); wide > where.getWidth())
      face = font(std::max(least * u, size * u * static_cast<float>(where.getWidth()) / static_cast<float>(wide + 1)),
                  weight);
    all.push_back({shortened(face, text, where.getWidth()), face, where, ink, side});
  };
  if (shown_.chord.isEmpty())
    fit(plain(words::noChordYet), 60, type::stand, Weight::italic, area(0, 40, 420, 180), Ink::soft, Side::left);
  else
    fit(shown_.chord, chordSize, chordLeast, Weight::bold, area(0, 8, 420, 230), Ink::ink, Side::left);
  fit(plain(words::now) + (shown_.numeral.isEmpty() ? juce::String() : ", " + shown_.numeral), type::stand, type::stand,
      Weight::italic, area(0, 240, 420, 52), Ink::soft, Side::left);
  if (shown_.beats <= mostCounted) {
    const int wide = countWidth() / std::max(3, shown_.beats);
    for (int beat = 1; beat <= shown_.beats; ++beat) {
      const bool now = beat == shown_.beat;
      fit(juce::String(beat), now ? beatNow : beatSize, type::stand, now ? Weight::bold : Weight::roman,
          area(440 + (beat - 1) * wide, 30, wide, 200), now ? Ink::ink : Ink::soft, Side::middle);
    }
  } else {
    fit(juce::String(shown_.beat) + plain(words::of) + juce::String(shown_.beats), beatSize, type::stand, Weight::bold,
        area(440, 30, countWidth(), 200), Ink::ink, Side::middle);
  }
  const bool round = shown_.round.isNotEmpty();
  fit(round ? shown_.round : plain(words::bar) + juce::String(shown_.bar), type::stand, type::stand,
      round ? Weight::bold : Weight::italic, area(440, 240, 400, 52), round ? Ink::ink : Ink::soft, Side::left);
  fit(shown_.then, chordSize, chordLeast, Weight::roman, area(890, 8, 350, 230), Ink::ink, Side::left);
  fit(shown_.thenSaid, type::stand, type::stand, Weight::italic, area(890, 240, 350, 52), Ink::soft, Side::left);
  const auto piece = shown_.piece.isNotEmpty() ? shown_.piece : piece_;
  const auto title = piece.isEmpty() ? shown_.idiom : piece;
  fit(title, 44, type::stand, shown_.piece.isEmpty() ? Weight::roman : Weight::bold, area(0, -headHeight, 620, 60),
      Ink::ink, Side::left);
  if (piece.isNotEmpty())
    fit(shown_.remark.isEmpty() ? shown_.idiom : shown_.remark, 42, type::stand, Weight::italic,
        area(640, -headHeight, 450, 60), Ink::ink, Side::right);
  if (message_.isNotEmpty()) {
    fit(message_, type::stand, type::stand, Weight::roman, area(0, 370, 1240, 120), Ink::ink, Side::left);
    return all;
  }
  const int wide = 1240 / 4 - 18;
  for (std::size_t i = 0; i < shown_.bars.size(); ++i)
    if (shown_.bars[i].known)
      fit(shown_.bars[i].chord, 64, type::stand, shown_.bars[i].now ? Weight::bold : Weight::roman,
          area(110 + static_cast<int>(i) * (wide - 12), 306, wide - 30, 78), shown_.bars[i].now ? Ink::ink : Ink::soft,
          Side::left);
  return all;
}

/// The count's rule, and a staff of slashes: a stroke a beat, as chord charts have them.
void StandView::drawMarks(juce::Graphics& g) const {
  const float u = unit();
  const auto& p = palette();
  g.setColour(p.ink);
  const auto line = area(0, -16, 1248, 2);
  g.fillRect(line);
  g.fillRect(line.translated(0, 5).withHeight(1));
  if (shown_.beat > 0 && shown_.beats <= mostCounted) {
    const int wide = countWidth() / std::max(3, shown_.beats);
    g.fillRect(area(440 + (shown_.beat - 1) * wide + wide / 2 - 55, 226, 110, 9));
  }
  if (shown_.then.isNotEmpty()) {
    g.setColour(p.rule);
    g.fillRect(area(862, 20, 2, 260));
    g.setColour(p.ink);
  }
  if (shown_.holding) drawGlyph(g, page::Glyph::fermata, {80 * u, static_cast<float>(headHeight + 14) * u}, 20 * u);
  if (message_.isNotEmpty()) return;
  const float space = 20 * u, top = static_cast<float>(400 + headHeight) * u, left = 0, right = 1248 * u;
  g.setColour(p.staff);
  for (int i = 0; i < 5; ++i)
    g.fillRect(left, std::round(top + static_cast<float>(i) * space), right, std::max(1.0f, std::round(1.6f * u)));
  g.setColour(p.ink);
  drawGlyph(g, page::Glyph::trebleClef, {44 * u, top + 3 * space}, space);
  const float from = 110 * u, wide = (right - from) / 4;
  for (int b = 0; b < 4; ++b) {
    const auto& bar = b < static_cast<int>(shown_.bars.size()) ? shown_.bars[static_cast<std::size_t>(b)] : Bar{};
    const float x = from + static_cast<float>(b) * wide;
    g.setColour(p.ink);
    g.fillRect(x + wide - 2 * u, top, std::max(1.0f, 3 * u), 4 * space);
    const int beats = std::min(shown_.beats, 12);
    for (int beat = 0; beat < beats; ++beat) {
      const bool now = bar.now && beat + 1 == shown_.beat;
      g.setColour(bar.now ? p.ink : p.soft);
      if (!bar.known) g.setColour(p.coming);
      const float at = x + wide * (static_cast<float>(beat) + 0.35f) / static_cast<float>(beats);
      juce::Path slash;
      const float thick = now ? space * 1.1f : space * 0.5f;
      slash.startNewSubPath(at, top + 3 * space);
      slash.lineTo(at + thick, top + 3 * space);
      slash.lineTo(at + thick + space * 1.1f, top + space);
      slash.lineTo(at + space * 1.1f, top + space);
      slash.closeSubPath();
      g.fillPath(slash);
      if (now) {
        juce::Path wedge;
        wedge.addTriangle(at + space, top + 4.6f * space, at - space * 0.1f, top + 5.6f * space, at + space * 2.1f,
                          top + 5.6f * space);
        g.setColour(p.ink);
        g.fillPath(wedge);
      }
    }
  }
}

LeaveTarget::LeaveTarget(const Look& look) : Element(look, plain(words::desk), juce::AccessibilityRole::button) {
  setWantsKeyboardFocus(true);
}

int LeaveTarget::widthFor(int high) const { return widthOf(font(emFor(high)), plain(words::desk)) + 2 * edge + 2; }

std::vector<PlacedText> LeaveTarget::texts() const {
  return {{plain(words::desk), font(emFor(getHeight())), getLocalBounds().reduced(edge, 0), Ink::ink, Side::middle}};
}

void LeaveTarget::drawMarks(juce::Graphics& g) const {
  g.setColour(palette().rule);
  g.fillRect(getLocalBounds().reduced(edge).withTop(getHeight() - edge - 2));
}

bool LeaveTarget::keyPressed(const juce::KeyPress& key) {
  if (key.getKeyCode() != juce::KeyPress::returnKey && key.getKeyCode() != juce::KeyPress::spaceKey) return false;
  act();
  return true;
}

StandPage::StandPage(const Look& look, Processor& processor) : processor_(processor), view_(look), leave_(look) {
  addAndMakeVisible(view_);
  addAndMakeVisible(leave_);
  leave_.press = [this] {
    if (leave) leave();
  };
  leave_.setExplicitFocusOrder(1);
  int order = 2;
  for (const auto signal : {Signal::hold, Signal::goOn, Signal::end, Signal::round, Signal::next}) {
    auto& target = *targets_.emplace_back(std::make_unique<SignalTarget>(look, processor.session(), signal));
    target.setLarge(true);
    addAndMakeVisible(target);
    target.setExplicitFocusOrder(order++);
  }
}

std::vector<SignalTarget*> StandPage::targets() {
  std::vector<SignalTarget*> all;
  for (auto& target : targets_) all.push_back(target.get());
  return all;
}

void StandPage::refresh(const View& view) {
  for (auto& target : targets_) target->refresh(view);
  if (!isVisible()) return;
  const auto slot = static_cast<std::size_t>(std::max<int>(0, view.slot));
  const auto idiom = plain(processor_.shelf().entry(slot).title);
  if (const auto order = processor_.orders().current()) {
    const auto place = static_cast<std::size_t>(std::max(0, processor_.orders().place()));
    const auto& presets = order->presets;
    const auto numbered = [&](std::size_t i) {
      return juce::String(static_cast<int>(i) + 1) + ". " + plain(presets[i].title);
    };
    targets_.back()->setDetail(place + 1 < presets.size() ? numbered(place + 1) : plain(words::orderEnds));
    const bool known = place < presets.size();
    return view_.refresh(processor_.score(), idiom, known ? numbered(place) : juce::String(),
                         known ? plain(presets[place].about) : juce::String());
  }
  const auto filled = processor_.shelf().filled();
  if (const auto at = std::find(filled.begin(), filled.end(), slot); at != filled.end())
    targets_.back()->setDetail(
        plain(processor_.shelf().entry(at + 1 == filled.end() ? filled.front() : *(at + 1)).title));
  view_.refresh(processor_.score(), idiom, {}, {});
}

void StandPage::resized() {
  auto area = getLocalBounds();
  auto foot = area.removeFromBottom(std::min(targetHigh + 2 * edge, area.getHeight() / 3));
  area.removeFromBottom(8);
  // The way back stands over the view's own line, in the corner that the view leaves free.
  view_.setBounds(area);
  auto corner = area.withHeight(std::max(smallestTarget, static_cast<int>(56 * view_.unit())));
  leave_.setBounds(corner.removeFromRight(leave_.widthFor(corner.getHeight())));
  leave_.toFront(false);
  // As wide as their words need: the next idiom's name is the longest.
  constexpr int shares[] = {0, 216, 436, 616, 872, 1248};
  for (std::size_t i = 0; i < targets_.size(); ++i) {
    const int left = foot.getWidth() * shares[i] / shares[5], right = foot.getWidth() * shares[i + 1] / shares[5];
    targets_[i]->setBounds(foot.getX() + left, foot.getY(), right - left - (i + 1 < targets_.size() ? 8 : 0),
                           foot.getHeight());
  }
}

}  // namespace seguente::screen
