#include "plugin/editor/drawing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <unordered_map>

namespace seguente::screen {
namespace {

juce::Path pathOf(const page::Outline& outline) {
  juce::Path path;
  const auto at = [](page::Point p) { return juce::Point<float>(static_cast<float>(p.x), static_cast<float>(p.y)); };
  for (const auto& piece : outline.pieces) switch (piece.kind) {
      case page::Outline::Kind::move:
        path.startNewSubPath(at(piece.to));
        break;
      case page::Outline::Kind::line:
        path.lineTo(at(piece.to));
        break;
      case page::Outline::Kind::curve:
        path.cubicTo(at(piece.a), at(piece.b), at(piece.to));
        break;
      case page::Outline::Kind::close:
        path.closeSubPath();
        break;
    }
  return path;
}

const juce::Path& pathOf(page::Glyph glyph) {
  static const auto all = [] {
    std::array<juce::Path, static_cast<std::size_t>(page::Glyph::count)> paths;
    for (std::size_t i = 0; i < paths.size(); ++i) paths[i] = pathOf(page::outlineOf(static_cast<page::Glyph>(i)));
    return paths;
  }();
  return all[static_cast<std::size_t>(glyph)];
}

/// FNV-1a, public domain.
class Hash {
 public:
  void add(const void* data, std::size_t size) {
    const auto* bytes = static_cast<const unsigned char*>(data);
    for (std::size_t i = 0; i < size; ++i) value_ = (value_ ^ bytes[i]) * 1099511628211ull;
  }
  void add(double v) { add(&v, sizeof v); }
  void add(page::Point p) {
    add(p.x);
    add(p.y);
  }
  std::uint64_t value() const { return value_; }

 private:
  std::uint64_t value_ = 14695981039346656037ull;
};

std::uint64_t hashOf(const page::Mark& m, float space, juce::Point<float> origin) {
  Hash h;
  const int words[] = {static_cast<int>(m.kind),  static_cast<int>(m.token), m.dashed ? 1 : 0,
                       static_cast<int>(m.glyph), static_cast<int>(m.style), static_cast<int>(m.anchor)};
  h.add(words, sizeof words);
  h.add(m.a);
  h.add(m.b);
  for (const double v : {m.thickness, m.scale, m.size, static_cast<double>(space), static_cast<double>(origin.x),
                         static_cast<double>(origin.y)})
    h.add(v);
  h.add(m.text.data(), m.text.size());
  for (const auto& piece : m.outline.pieces) h.add(piece.to);
  return h.value();
}

}  // namespace

juce::Colour colourOf(const Palette& palette, page::Token token) {
  switch (token) {
    case page::Token::staff:
      return palette.staff;
    case page::Token::soft:
      return palette.soft;
    case page::Token::coming:
      return palette.coming;
    case page::Token::rule:
      return palette.rule;
    case page::Token::band:
      return palette.band;
    case page::Token::melody:
      return palette.melody;
    case page::Token::accompaniment:
      return palette.accompaniment;
    case page::Token::ink:
      break;
  }
  return palette.ink;
}

Weight weightOf(page::Style style) {
  return style == page::Style::bold ? Weight::bold : style == page::Style::italic ? Weight::italic : Weight::roman;
}

void drawGlyph(juce::Graphics& g, page::Glyph glyph, juce::Point<float> at, float space) {
  g.fillPath(pathOf(glyph), juce::AffineTransform::scale(space).translated(at.x, at.y));
}

void Drawing::place(page::Sheet sheet, float space, juce::Point<float> origin) {
  sheet_ = std::move(sheet);
  space_ = space;
  origin_ = origin;
  placed_.clear();
  placed_.reserve(sheet_.marks.size());
  for (const auto& mark : sheet_.marks) {
    auto box = page::boxOf(mark);
    if (mark.kind == page::Mark::Kind::text) {  // room for what hangs below the line, and for another face
      box.bottom += mark.size * 0.3;
      box.left -= mark.size * 0.3;
      box.right += mark.size * 0.3;
    }
    const auto a = toScreen({box.left, box.top}), b = toScreen({box.right, box.bottom});
    placed_.push_back(
        {juce::Rectangle<float>(a, b).getSmallestIntegerContainer().expanded(2), hashOf(mark, space_, origin_)});
  }
}

std::vector<juce::Rectangle<int>> Drawing::differences(const std::vector<Placed>& a, const std::vector<Placed>& b) {
  std::unordered_map<std::uint64_t, int> counts;
  for (const auto& p : a) ++counts[p.hash];
  std::vector<juce::Rectangle<int>> areas;
  for (const auto& p : b)
    if (--counts[p.hash] < 0) areas.push_back(p.box);
  for (const auto& p : a)
    if (auto& left = counts[p.hash]; left > 0) {
      --left;
      areas.push_back(p.box);
    }
  return areas;
}

void Drawing::paint(juce::Graphics& g, const Look& look) const {
  const auto clip = g.getClipBounds();
  for (std::size_t i = 0; i < placed_.size(); ++i)
    if (placed_[i].box.intersects(clip)) draw(g, look, sheet_.marks[i]);
}

void Drawing::draw(juce::Graphics& g, const Look& look, const page::Mark& mark) const {
  g.setColour(colourOf(look.palette, mark.token));
  const auto a = toScreen(mark.a), b = toScreen(mark.b);
  switch (mark.kind) {
    case page::Mark::Kind::line: {
      // Upright and level lines on whole pixels, one at least, so that all staff lines look alike.
      const float thick = std::max(1.0f, static_cast<float>(mark.thickness) * space_);
      if (mark.dashed) {
        const float dashes[] = {space_ * 0.5f, space_ * 0.4f};
        g.drawDashedLine({a, b}, dashes, 2, thick);
      } else if (std::abs(a.y - b.y) < 0.01f) {
        const float whole = std::max(1.0f, std::round(thick));
        g.fillRect(std::min(a.x, b.x), std::round(a.y - whole / 2), std::abs(b.x - a.x), whole);
      } else if (std::abs(a.x - b.x) < 0.01f) {
        g.fillRect(a.x - thick / 2, std::min(a.y, b.y), thick, std::abs(b.y - a.y));
      } else {
        g.drawLine({a, b}, thick);
      }
      break;
    }
    case page::Mark::Kind::box:
      g.fillRect(juce::Rectangle<float>(a, b));
      break;
    case page::Mark::Kind::outline:
      g.fillPath(pathOf(mark.outline), juce::AffineTransform::scale(space_).translated(origin_.x, origin_.y));
      break;
    case page::Mark::Kind::glyph:
      drawGlyph(g, mark.glyph, a, space_ * static_cast<float>(mark.scale));
      break;
    case page::Mark::Kind::text: {
      const auto font = look.letters.font(static_cast<float>(mark.size) * space_, weightOf(mark.style));
      juce::GlyphArrangement line;
      line.addLineOfText(font, plain(mark.text), 0, 0);
      const float wide = line.getBoundingBox(0, -1, true).getWidth();
      const float x = mark.anchor == page::Anchor::start    ? a.x
                      : mark.anchor == page::Anchor::middle ? a.x - wide / 2
                                                            : a.x - wide;
      line.draw(g, juce::AffineTransform::translation(x, a.y));
      break;
    }
  }
}

}  // namespace seguente::screen
