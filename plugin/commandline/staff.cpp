#include "plugin/commandline/staff.h"

#include <array>
#include <cstdio>
#include <cstdlib>

#include "plugin/commandline/words.h"

namespace seguente {

namespace {

constexpr std::string_view inkColour = "#111111";
constexpr std::string_view melodyColour = "#0072B2";         // Okabe-Ito blue
constexpr std::string_view accompanimentColour = "#D55E00";  // Okabe-Ito vermillion

// The letters of the line of fifths, F first; F itself is place -1 (C = 0).
constexpr std::array<int, 7> letterByFifth{3, 0, 4, 1, 5, 2, 6};
constexpr std::array<int, 7> natural{0, 2, 4, 5, 7, 9, 11};

int fifthOf(SpelledPitch p) {
  constexpr std::array<int, 7> fifths{0, 2, 4, -1, 1, 3, 5};
  return fifths[static_cast<std::size_t>(p.step)] + 7 * p.alteration;
}

/// The name at a place of the line of fifths, F = 0, C = 1.
SpelledPitch nameAt(int fromF) {
  return {static_cast<std::int8_t>(letterByFifth[static_cast<std::size_t>(((fromF % 7) + 7) % 7)]),
          static_cast<std::int8_t>(fromF >= 0 ? fromF / 7 : -((6 - fromF) / 7))};
}

/// Sharps or flats that a signature gives a letter.
int signatureAlteration(int signature, std::size_t letter) {
  for (int i = 0; i < 7; ++i) {
    if (letterByFifth[static_cast<std::size_t>(i)] != static_cast<int>(letter)) continue;
    if (signature > i) return 1;
    return -signature > 6 - i ? -1 : 0;
  }
  return 0;
}

}  // namespace

int signatureOf(const Key& key) {
  if (!key.known) return 0;
  const int signature = fifthOf(key.tonic) - (key.mode == Mode::minor ? 3 : 0);
  return signature < -7 || signature > 7 ? 0 : signature;
}

StaffPlace placeOf(NoteNumber note, const Key& key) {
  const int signature = signatureOf(key);
  // Twelve neighbours on the line of fifths: in major from the flat sixth to the raised first, in minor one fifth
  // sharper for the raised seventh (REFERENCES section 2, "Spelling").
  const int lowest = signature + (key.known && key.mode == Mode::minor ? -3 : -4);
  const int pitchClass = note.value % 12;
  int fifth = lowest;
  while (((fifth * 7) % 12 + 12) % 12 != pitchClass) ++fifth;
  return placeAs(note, nameAt(fifth + 1), key);
}

StaffPlace placeAs(NoteNumber note, SpelledPitch name, const Key& key) {
  StaffPlace place;
  place.alteration = name.alteration;
  const int octave = (note.value - place.alteration - natural[static_cast<std::size_t>(name.step)] - 60) / 12;
  place.step = name.step + 7 * octave;
  place.accidental = place.alteration != signatureAlteration(key, place.step);
  return place;
}

int signatureAlteration(const Key& key, int step) {
  return signatureAlteration(signatureOf(key), static_cast<std::size_t>(((step % 7) + 7) % 7));
}

Key keyOfSignature(int sharps, bool minor) {
  Key key;
  key.known = true;
  key.mode = minor ? Mode::minor : Mode::major;
  key.tonic = nameAt(sharps + 1 + (minor ? 3 : 0));
  return key;
}

std::string noteNameIn(NoteNumber note, const Key& key) {
  if (!key.known) return noteName(note);
  const StaffPlace place = placeOf(note, key);
  const int octave = place.step >= 0 ? place.step / 7 : -((6 - place.step) / 7);
  std::string name(1, "CDEFGAB"[place.step - 7 * octave]);
  name.append(static_cast<std::size_t>(std::abs(place.alteration)), place.alteration > 0 ? '#' : 'b');
  return name + std::to_string(octave + 4);
}

std::string svgNumber(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  std::string s = text;
  s.erase(s.find_last_not_of('0') + 1);
  if (s.back() == '.') s.pop_back();
  return s;
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

void Page::line(double x1, double y1, double x2, double y2, double width, std::string_view colour) {
  body_ += "<path d=\"M" + svgNumber(x1) + " " + svgNumber(y1) + "L" + svgNumber(x2) + " " + svgNumber(y2) +
           "\" stroke=\"" + std::string(colour) + "\" stroke-width=\"" + svgNumber(width) + "\"/>\n";
}

void Page::text(double x, double y, double size, std::string_view content, std::string_view style,
                std::string_view anchor) {
  body_ += "<text x=\"" + svgNumber(x) + "\" y=\"" + svgNumber(y) + "\" font-size=\"" + svgNumber(size) +
           "\" text-anchor=\"" + std::string(anchor) + "\"" + (style.empty() ? "" : " ") + std::string(style) + ">" +
           escaped(content) + "</text>\n";
}

void Page::dot(double x, double y, Ink ink) {
  const std::string_view colour = ink == Ink::melody          ? melodyColour
                                  : ink == Ink::accompaniment ? accompanimentColour
                                                              : inkColour;
  body_ += "<circle cx=\"" + svgNumber(x) + "\" cy=\"" + svgNumber(y) + "\" r=\"1.7\" fill=\"" + std::string(colour) +
           "\"/>\n";
}

void Page::head(double x, double y, Ink ink, bool open) {
  const std::string_view fill = open                        ? "#FFFFFF"
                                : ink == Ink::melody        ? melodyColour
                                : ink == Ink::accompaniment ? "url(#hatch)"
                                                            : "#FFFFFF";
  const std::string_view edge = ink == Ink::melody          ? melodyColour
                                : ink == Ink::accompaniment ? accompanimentColour
                                                            : inkColour;
  body_ += "<ellipse rx=\"5.1\" ry=\"3.5\" transform=\"translate(" + svgNumber(x) + " " + svgNumber(y) +
           ") rotate(-22)\" fill=\"" + std::string(fill) + "\" stroke=\"" + std::string(edge) + "\" stroke-width=\"" +
           (open || ink == Ink::held ? "1.6" : "1") + "\"/>\n";
}

void Page::accidental(double x, double y, int alteration) {
  std::string d;
  const int count = std::abs(alteration);
  for (int i = 0; i < count; ++i) {
    const std::string at = "M" + svgNumber(x - 6 * i) + " " + svgNumber(y);
    d += alteration > 0 ? at + "m-1.5-8v17m3-18v17m-5 -9.500l7-2m-7 6.500l7-2"
                        : at + "m-2-12v16c3-1 6-4 5-6.500c-1-2-4-1-5 1";
  }
  if (count == 0) d = "M" + svgNumber(x) + " " + svgNumber(y) + "m-2-9v12l4-1.500m0 7v-12l-4 1.500";
  body_ += "<path d=\"" + d + "\" fill=\"none\" stroke=\"#111111\" stroke-width=\"1.2\"/>\n";
}

/// A plain curl round the G line, of our own drawing.
void Page::trebleClef(double x, double gLine) {
  body_ += "<path transform=\"translate(" + svgNumber(x) + " " + svgNumber(gLine) +
           ")\" d=\"M1 4C-5 3-5-6 2-7C10-8 12 6 2 8C-9 9-11-6-3-14C3-20 7-26 5-33C3-37-2-33-2-26L4 16C5 23-5 24-5 18\" "
           "fill=\"none\" stroke=\"#111111\" stroke-width=\"2\" stroke-linecap=\"round\"/>"
           "<circle cx=\"" +
           svgNumber(x - 4) + "\" cy=\"" + svgNumber(gLine + 18) + "\" r=\"2\" fill=\"#111111\"/>\n";
}

/// A plain hook from the F line with its two dots.
void Page::bassClef(double x, double fLine) {
  body_ += "<path transform=\"translate(" + svgNumber(x) + " " + svgNumber(fLine) +
           ")\" d=\"M-6 0C-8-7 6-11 7 0C8 9 2 16-8 20\" fill=\"none\" stroke=\"#111111\" stroke-width=\"2.4\" "
           "stroke-linecap=\"round\"/>";
  for (const double dy : {-4.0, 4.0})
    body_ +=
        "<circle cx=\"" + svgNumber(x + 12) + "\" cy=\"" + svgNumber(fLine + dy) + "\" r=\"1.7\" fill=\"#111111\"/>";
  body_ += "<circle cx=\"" + svgNumber(x - 4.5) + "\" cy=\"" + svgNumber(fLine) + "\" r=\"2.6\" fill=\"#111111\"/>\n";
}

std::string Page::finish(double width, double height) const {
  const std::string size = svgNumber(width) + "\" height=\"" + svgNumber(height);
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + size + "\" viewBox=\"0 0 " + svgNumber(width) + " " +
         svgNumber(height) +
         "\" role=\"img\" font-family=\"'Gentium Book Plus', Gentium, 'DejaVu Serif', serif\" fill=\"#111111\">\n"
         "<defs><pattern id=\"hatch\" width=\"3\" height=\"3\" patternUnits=\"userSpaceOnUse\" "
         "patternTransform=\"rotate(-30)\"><rect width=\"3\" height=\"3\" fill=\"#FFFFFF\"/><rect width=\"2.1\" "
         "height=\"3\" fill=\"#D55E00\"/></pattern></defs>\n<rect width=\"" +
         size + "\" fill=\"#FFFFFF\"/>\n" + body_ + "</svg>\n";
}

}  // namespace seguente
