// The small languages inside a pattern file: fractions of a beat, meters, note names, and what a step plays.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "dsp/chord.h"
#include "dsp/idiom.h"
#include "dsp/time.h"

namespace seguente {

/// "3", "5/2" or "2 1/2". errors: nullopt for anything else, numbers over 9999, or a zero denominator. [any]
std::optional<Fraction> parseFraction(std::string_view text);

/// As a musician writes it: "2 1/2", "1/3", "3". [any]
std::string textOf(Fraction fraction);
/// A text as a pattern file writes it, without what no line may hold. [message]
std::string inQuotes(std::string_view text);
/// A length as a pattern file says it in beats: whole beats bare, fractions in quotation marks. [message]
std::string beatsText(Ticks t, Ticks beat);

/// The plain fraction (denominator up to 16) nearest to a decimal: 1.5 -> "1 1/2", 0.33 -> "1/3". [any]
std::string fractionLike(double decimal);

/// So many beats as ticks. errors: nullopt when ticks cannot hold it exactly. [any]
std::optional<Ticks> ticksOf(Fraction beats, Ticks beat);

/// "3/4". errors: nullopt for no valid Meter. [any]
std::optional<Meter> parseMeter(std::string_view text);
std::string textOf(Meter meter);

/// "E2", "F#3", "Bb1"; C4 = 60. errors: nullopt. [any]
std::optional<NoteNumber> parseNoteName(std::string_view text);

/// What a row plays: one play, or two when one note is crushed into the other ("b3>3"). [any]
struct RowPlay {
  Play play;  // the note itself
  bool crushed = false;
  Play crushedNote;  // struck first, if crushed
  bool blueThird() const;
};

/// Reads the play text of a part. errors: nullopt, `expected` says what would have been right. [any]
std::optional<RowPlay> parsePlay(std::string_view text, PartKind kind, std::string& expected);

/// A chord by its numeral over a tonic, as over C: "I", "vi", "ii7", "V7", "bVII", "#io7" (small letters: a minor
/// third; o: diminished). errors: nullopt. [any]
std::optional<Chord> parseNumeral(std::string_view text);

/// How many single changes (letter more, fewer, other, two exchanged) lie between two words. [any]
std::size_t editDistance(std::string_view a, std::string_view b);

/// The word most like a mistyped one: at most a third of its letters (and at least two) differ; or "". [any]
std::string nearestWord(std::string_view word, std::span<const std::string_view> words);

}  // namespace seguente
