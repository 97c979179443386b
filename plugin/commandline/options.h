// What was asked for, as values: the words of the command line after they have been understood.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "dsp/input.h"
#include "plugin/commandline/tempo_map.h"

namespace seguente {

/// The gestures from controllers in the file (value 64 and more). -1: none. [any]
struct GestureControllers {
  int hold = -1;
  int goOn = -1;
  int end = -1;
  int turnaround = -1;
  int tag = -1;
  int round = -1;
};

/// Asked of every command that hears a file. [any]
struct HearingOptions {
  std::string input;
  TimeWishes time;
  bool pickupGiven = false;
  Settings settings;         // hands, split, key, density, swing
  std::string handsAsGiven;  // for messages
  std::string chart;         // path or ""
  bool foresee = false;      // the piece is heard first
  GestureControllers gestures;
  std::size_t block = 0;  // samples a call of the engine; 0: the whole piece in one
  std::int64_t rate = 48000;
  bool json = false;
};

struct RenderOptions {
  HearingOptions hearing;
  std::string idiom;
  std::string output;
  std::string wav;
  std::string picture;
  std::string soundfont;
};

/// Exit codes of DESIGN, "The command line". [any]
inline constexpr int exitDone = 0;
inline constexpr int exitBadInput = 1;
inline constexpr int exitBadWords = 2;

}  // namespace seguente
