// The words of the command line, one by one, as values. Each fault is one clause that names what was expected.
#pragma once

#include <string>
#include <string_view>

#include "plugin/commandline/checked.h"
#include "plugin/commandline/options.h"

namespace seguente {

/// "C4", "Bb3", "F#2" (C4 = 60), or a key number 0..127. [message]
Checked<NoteNumber> readNote(std::string_view word);

/// "C4" for 60: sharps in no key, flats never. [message]
std::string noteName(NoteNumber note);

/// "3/4": numerator 1..32, denominator a power of two up to 32. [message]
Checked<Meter> readMeter(std::string_view word);

/// "1", "0.5", "1/2": a count of quarter notes, 0..64, as ticks. [message]
Checked<Ticks> readQuarters(std::string_view word);

/// A decimal number inside [low, high]. [message]
Checked<double> readNumber(std::string_view word, double low, double high);

/// "1" or "1,2": both hands from a channel, or right and left from one each; into the settings. Returns a fault or "".
std::string readHands(std::string_view word, Settings& settings);

/// The words as they were typed, unread. Empty: not given. [any]
struct GivenWords {
  std::string input, idiom, output, wav, picture, soundfont, chart;
  std::string tempo, meter, key, split, hands, pickup, density, swing, melody, block, rate;
  std::string countIn, holdController, goOnController, endController, turnaroundController, tagController,
      roundController;
  bool foresee = false;
  bool wait = false;
  bool keep = false;
  bool json = false;
};

/// Every word understood, or the first one that is off: "--meter 3: expected ...". [message]
Checked<RenderOptions> understand(const GivenWords& given);

}  // namespace seguente
