// Finds a beat in the first few onsets of two hands: a bank of lines, each a steady beat that bends with what is
// played, judged by how well the notes lie on it and its parts, how well the chords lie on its bars, and how usual its
// tempo is.
//
// Idea of several beats running side by side, each judged as it goes: Dixon 2001, "Automatic extraction of tempo and
// beat from expressive performances", J. New Music Research 30. Judging by where in the bar notes are likely: Cemgil &
// Kappen 2003, J. Artificial Intelligence Research 18; Raphael 2002, Artificial Intelligence 137. Own derivation.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace seguente {

/// Notes of both hands that fell together. seconds: since the engine began. [audio]
struct Onset {
  double seconds = 0;
  bool chord = false;   // the chord hand struck
  bool melody = false;  // the melody struck
};

/// What is known beforehand of the beat that is sought. Periods in seconds. [audio]
struct BeatPrior {
  double period = 0.55;   // usual length of a beat
  double spread = 0.45;   // standard deviation of its logarithm
  bool inThrees = false;  // a beat has three parts (6/8), else two
  int beatsInBar = 4;     // 0: unknown, two or three
};

/// How likely the chord hand strikes on a beat of the bar, as a natural logarithm. position 0 is the downbeat. [any]
double chordOnBeat(int beatsInBar, int position) noexcept;
/// Where in the beat a note lies. [any]
struct BeatPart {
  double place = 0;   // 0, 1/4, 1/3, 1/2, 2/3, 3/4 or 1
  double error = 0;   // in beats: how much later than that place it came
  double weight = 0;  // natural logarithm of how likely a note lies there
};
/// fraction: 0..1 of a beat; tolerance: standard deviation in beats. [any]
BeatPart nearestPart(double fraction, double tolerance, bool inThrees, bool chord, double finest = 0) noexcept;

/// [audio] throughout; no errors; bounded.
class BeatFinder {
 public:
  static constexpr std::size_t most = 28;
  static constexpr std::size_t remembered = 12;

  struct Found {
    bool any = false;
    double beat = 0;    // seconds of one of its beats
    double period = 0;  // seconds
    double score = 0;
    double margin = 0;  // over the best line of another tempo
    int onsets = 0;     // heard so far
  };

  void begin(const BeatPrior& prior) noexcept;
  void hear(const Onset& onset) noexcept;
  Found best() const noexcept;
  /// The best line within a tenth of this period; with a beat, only those that have one within a fifth of that.
  Found bestNear(double period) const noexcept;
  Found bestAt(double beat, double period) const noexcept;

 private:
  struct Line {
    double beat = 0;
    double period = 0;
    double last = 0;  // when it was last heard on
    double score = 0;
    double kind = 0, kinds = 0;        // how usual its rhythm is, and of how many onsets (fading)
    double spacing = 0, spacings = 0;  // how well the chords' distances suit its bars, and of how many
    int place = 0;                     // of `beat`, in beats from some origin
    int lastPlace = 0, lastChord = 0;  // in twelfths of a beat
    int heard = 0;
    std::array<float, 12> chords{};
    float chordsOff = 0;
    float chordsAll = 0;
  };
  struct Landing {
    int place = 0;      // in twelfths of a beat
    double error = 0;   // seconds later than that
    double after = 0;   // logarithm of how likely a note comes there after the one before
    double weight = 0;  // the same, and how near it came
    bool onBeat = false;
  };
  Landing landing(const Line& line, const Onset& onset, double fraction, int whole, double deviation) const noexcept;
  void placeChord(Line& line, const Landing& at) const noexcept;
  void follow(Line& line, const Onset& onset) const noexcept;
  double barScore(const Line& line) const noexcept;
  double total(const Line& line) const noexcept;
  void propose(double beat, double period) noexcept;
  Found found(const Line& line) const noexcept;

  BeatPrior prior_{};
  std::array<Line, most> lines_{};
  std::size_t count_ = 0;
  std::array<Onset, remembered> past_{};  // the newest last
  std::size_t pastCount_ = 0;
  int heard_ = 0;
};

}  // namespace seguente
