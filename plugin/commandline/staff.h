// The drawing words of a printed page: a grand staff of five lines each, heads, ledger lines, accidentals, text.
// Sizes and colours: the project's look (staff space 8, Okabe-Ito palette); a head fills a space.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "dsp/chord.h"
#include "dsp/pitch.h"

namespace seguente {

inline constexpr double staffSpace = 8;

/// How a note is drawn; each is told apart by shape as well as by colour. [any]
enum class Ink { melody, accompaniment, held };

/// Where a key stands on paper: `step` counts diatonic steps, middle C = 0, up positive. [any]
struct StaffPlace {
  int step = 0;
  int alteration = 0;       // what its name has
  bool accidental = false;  // whether a sign is needed beside the key signature
};

/// The spelling of a key on the keyboard in a key: the signature's own tones, else sharps raised towards the next tone
/// in sharp keys and flats in flat ones. [any]
StaffPlace placeOf(NoteNumber note, const Key& key);

/// Where a key stands under a given name. [any]
StaffPlace placeAs(NoteNumber note, SpelledPitch name, const Key& key);

/// What the key's signature does to a line or space: 1, 0 or -1. [any]
int signatureAlteration(const Key& key, int step);

/// A key by its signature's sharps (positive) or flats, -7..7. [any]
Key keyOfSignature(int sharps, bool minor);

/// A note's name in a key, with its octave: "Bb3", "B#3" for key 60; sharps when the key is unknown. [message]
std::string noteNameIn(NoteNumber note, const Key& key);

/// Sharps (positive) or flats of a key's signature, -7..7; 0 when unknown. [any]
int signatureOf(const Key& key);

/// Collects SVG elements. [message]
class Page {
 public:
  void line(double x1, double y1, double x2, double y2, double width, std::string_view colour = "#111111");
  void text(double x, double y, double size, std::string_view content, std::string_view style = {},
            std::string_view anchor = "start");
  /// open: a half note or longer. What is held is always drawn open.
  void head(double x, double y, Ink ink, bool open = false);
  void dot(double x, double y, Ink ink);
  /// A sharp, flat or natural drawn with strokes, its middle at y.
  void accidental(double x, double y, int alteration);
  void trebleClef(double x, double gLine);
  void bassClef(double x, double fLine);
  void raw(std::string_view element) { body_ += element; }
  std::string finish(double width, double height) const;

 private:
  std::string body_;
};

/// A number for SVG: two decimals at most. [any]
std::string svgNumber(double value);
/// Text with the signs of XML made harmless. [any]
std::string escaped(std::string_view text);

}  // namespace seguente
