#include "plugin/page/svg.h"

#include <array>
#include <cstdio>
#include <set>

namespace seguente::page {

namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  std::string s = text;
  s.erase(s.find_last_not_of('0') + 1);
  if (s.back() == '.') s.pop_back();
  return s == "-0" ? "0" : s;
}

std::string escaped(std::string_view text) {
  std::string safe;
  for (const char c : text) {
    if (c == '&')
      safe += "&amp;";
    else if (c == '<')
      safe += "&lt;";
    else if (c == '>')
      safe += "&gt;";
    else if (c == '"')
      safe += "&quot;";
    else if (static_cast<unsigned char>(c) >= 0x20)
      safe += c;
  }
  return safe;
}

std::string pathOf(const Outline& outline) {
  std::string d;
  const auto at = [](Point p) { return number(p.x) + " " + number(p.y); };
  for (const Outline::Piece& piece : outline.pieces) switch (piece.kind) {
      case Outline::Kind::move:
        d += "M" + at(piece.to);
        break;
      case Outline::Kind::line:
        d += "L" + at(piece.to);
        break;
      case Outline::Kind::curve:
        d += "C" + at(piece.a) + " " + at(piece.b) + " " + at(piece.to);
        break;
      case Outline::Kind::close:
        d += "Z";
        break;
    }
  return d;
}

constexpr std::array<const char*, static_cast<std::size_t>(Glyph::count)> names{
    "treble",       "bass",        "percussion",   "black",       "half",       "whole",         "cross",
    "blackhatched", "halfhatched", "wholehatched", "sharp",       "flat",       "natural",       "doublesharp",
    "doubleflat",   "restwhole",   "resthalf",     "restquarter", "resteighth", "restsixteenth", "restthirtysecond",
    "flagup",       "flagdown",    "dot",          "fermata"};

std::string paint(const Mark& mark) { return " fill=\"" + std::string(lightColourOf(mark.token)) + "\""; }

std::string drawn(const Mark& mark) {
  switch (mark.kind) {
    case Mark::Kind::line:
      return "<path d=\"M" + number(mark.a.x) + " " + number(mark.a.y) + "L" + number(mark.b.x) + " " +
             number(mark.b.y) + "\" stroke=\"" + std::string(lightColourOf(mark.token)) + "\" stroke-width=\"" +
             number(mark.thickness) + "\"/>\n";
    case Mark::Kind::box:
      return "<rect x=\"" + number(mark.a.x) + "\" y=\"" + number(mark.a.y) + "\" width=\"" +
             number(mark.b.x - mark.a.x) + "\" height=\"" + number(mark.b.y - mark.a.y) + "\"" + paint(mark) + "/>\n";
    case Mark::Kind::outline:
      return "<path d=\"" + pathOf(mark.outline) + "\"" + paint(mark) + "/>\n";
    case Mark::Kind::glyph:
      return "<use href=\"#" + std::string(names[static_cast<std::size_t>(mark.glyph)]) + "\" transform=\"translate(" +
             number(mark.a.x) + " " + number(mark.a.y) + ")" +
             (mark.scale == 1 ? std::string() : " scale(" + number(mark.scale) + ")") + "\"" + paint(mark) + "/>\n";
    case Mark::Kind::text: {
      const char* anchor = mark.anchor == Anchor::start ? "" : mark.anchor == Anchor::middle ? "middle" : "end";
      return "<text x=\"" + number(mark.a.x) + "\" y=\"" + number(mark.a.y) + "\" font-size=\"" + number(mark.size) +
             "\"" + (*anchor == 0 ? std::string() : " text-anchor=\"" + std::string(anchor) + "\"") +
             (mark.style == Style::bold     ? " font-weight=\"700\""
              : mark.style == Style::italic ? " font-style=\"italic\""
                                            : "") +
             paint(mark) + ">" + escaped(mark.text) + "</text>\n";
    }
  }
  return {};
}

}  // namespace

std::string_view lightColourOf(Token token) {
  switch (token) {
    case Token::ink:
      return "#111111";
    case Token::staff:
      return "#333333";
    case Token::soft:
      return "#555555";
    case Token::coming:
      return "#767676";
    case Token::rule:
      return "#8A8A8A";
    case Token::band:
      return "#EDEDEA";
    case Token::melody:
      return "#0072B2";
    case Token::accompaniment:
      return "#D55E00";
  }
  return "#111111";
}

std::string svgOf(const Sheet& sheet, double space, std::string_view description) {
  const std::string box = "0 0 " + number(sheet.width) + " " + number(sheet.height);
  std::string svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + number(sheet.width * space) +
                    "\" height=\"" + number(sheet.height * space) + "\" viewBox=\"" + box +
                    "\" role=\"img\" font-family=\"'Gentium Book Plus', Gentium, serif\">\n";
  if (!description.empty()) svg += "<title>" + escaped(description) + "</title>\n";
  std::set<Glyph> used;
  for (const Mark& mark : sheet.marks)
    if (mark.kind == Mark::Kind::glyph) used.insert(mark.glyph);
  svg += "<defs>\n";
  for (const Glyph glyph : used)
    svg += "<path id=\"" + std::string(names[static_cast<std::size_t>(glyph)]) + "\" d=\"" + pathOf(outlineOf(glyph)) +
           "\"/>\n";
  svg += "</defs>\n<rect width=\"" + number(sheet.width) + "\" height=\"" + number(sheet.height) +
         "\" fill=\"#FFFFFF\"/>\n";
  for (const Mark& mark : sheet.marks) svg += drawn(mark);
  return svg + "</svg>\n";
}

}  // namespace seguente::page
