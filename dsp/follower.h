// Follows the hands' beat: from the onsets of chords and melody it makes the anchors of the clock.
//
// Until a beat is found (beat_finder.h) the clock stands and chords sound as they are held. From then on one steady
// beat runs and bends: each note on it, or on a part of it, says how late the player is, and phase and period are
// corrected by a share of that. What keeps it musical:
//   - the place in the music never jumps while the beat runs: a correction is spread over the way to the next beat, and
//     the tempo of that way stays within bounds;
//   - a steady lag is no wish to slow down: a player who follows what he hears is always a little late. The usual
//     lateness is learnt and taken off, so that only a change of it bends the tempo (after the two-process models of
//     tapping: Mates 1994, Biol. Cybernetics 70; Repp 2005, Psychonomic Bulletin & Review 12);
//   - how strongly the period follows depends on whether errors repeat their sign (the player leads) or alternate
//     (noise, or a player who corrects himself against us): after Mehra 1970, IEEE Trans. Automatic Control 15;
//   - where a chord is expected and does not come while keys are held, the beat stands still (fermata) and goes on with
//     the player's own downbeat.
// The oscillator that entrains to a player is Large & Jones 1999, Psychological Review 106; derivation and code our
// own.
#pragma once

#include "dsp/beat_finder.h"
#include "dsp/clock.h"
#include "dsp/input.h"

namespace seguente {

/// What the clock is to do. [audio]
struct FollowStep {
  enum class Kind : std::uint8_t { nothing, anchor, standStill } kind = Kind::nothing;
  TimeAnchor anchor{};  // to be taken at the present sample
  Ticks ceiling{};      // standStill: time goes no further than just before this tick
};

/// [audio] throughout; no errors; bounded; owned by one engine.
class Follower {
 public:
  void reset(double rate) noexcept;
  /// Starts afresh when what is wished has changed.
  void configure(const FollowSettings& wishes) noexcept;
  void noteOn(bool chord, Samples at) noexcept;
  /// Whether any key of either hand is down now, and whether the player is searching for a chord while the pulse stays:
  /// then nothing stands still and nothing ends.
  void held(bool any, bool searching) noexcept {
    held_ = any;
    searching_ = searching;
  }
  /// The chord hand's fingers have landed: the player may have come back in here.
  FollowStep chordStruck(Samples firstFinger, Samples at, const Clock& clock) noexcept;
  /// To be called at every input and at the deadline, until it says nothing.
  FollowStep step(Samples at, const Clock& clock) noexcept;

  Samples deadline() const noexcept { return deadline_; }
  bool on() const noexcept { return wishes_.on; }
  bool waiting() const noexcept { return state_ == State::waiting; }
  /// The beat of the first chord, when the clock has just started; it may lie before that.
  Ticks firstBeat() const noexcept { return {firstBeat_ * unit_.value}; }
  /// 0..1: how closely the last notes lay on the beat. 0 while none is found.
  double confidence() const noexcept;

 private:
  enum class State : std::uint8_t { finding, running, waiting };
  static constexpr double shortestPeriod = 0.22, longestPeriod = 2.0;  // of a beat, in seconds

  double seconds(Samples s) const noexcept { return static_cast<double>(s.value) / rate_; }
  Samples sample(double seconds) const noexcept { return {floorToInteger(seconds * rate_ + 0.5)}; }
  double place(double seconds) const noexcept { return static_cast<double>(beat_) + (seconds - beatTime_) / period_; }
  double timeOf(std::int64_t beat) const noexcept { return beatTime_ + static_cast<double>(beat - beat_) * period_; }
  std::int64_t barAtOrBefore(std::int64_t beat) const noexcept {
    return barBeat_ + floorDivide(beat - barBeat_, perBar_) * perBar_;
  }
  /// When the hands, still since then, have stopped for good: two bars, three seconds at least.
  double endsAt() const noexcept { return lastOnset_ + std::max(3.0, 2.2 * static_cast<double>(perBar_) * period_); }
  void takeMeter(Meter meter) noexcept;
  void beginFinding() noexcept;
  void closeCluster() noexcept;
  bool countIn(const Onset& onset) noexcept;
  bool tryStart(double now) noexcept;
  void startAt(std::int64_t beat, double beatTime, double period) noexcept;
  void hear(const Onset& onset) noexcept;
  void correct(double error, double weight) noexcept;
  void placeChord(std::int64_t beat) noexcept;
  void reconsider() noexcept;
  void reconsiderBars() noexcept;
  bool comesBackIn(double finger) const noexcept;
  void checkDownbeat(double now, const Clock& clock) noexcept;
  FollowStep anchorAt(Samples at, double place, double period) const noexcept;
  FollowStep steer(Samples at, const Clock& clock) noexcept;
  void schedule(Samples at, const Clock& clock) noexcept;

  FollowSettings wishes_{};
  double rate_ = 48000;
  State state_ = State::finding;
  BeatFinder finder_;

  // the notes that are falling together
  Samples clusterEnd_ = never;
  Samples clusterStart_{};
  double chordSum_ = 0, melodySum_ = 0;  // seconds since the cluster began
  int chordCount_ = 0, melodyCount_ = 0;

  // meter, in beats as they are felt: the dotted ones in 6/8
  Meter meter_{};
  Ticks unit_{quarter};
  std::int64_t perBar_ = 4;
  bool inThrees_ = false;

  // the beat: number `beat_` falls at `beatTime_`
  std::int64_t beat_ = 0;
  std::int64_t barBeat_ = 0;  // some downbeat
  double beatTime_ = 0;
  double period_ = 0.5;
  double home_ = 0;   // the period over some bars; 0: none known yet
  double lag_ = 0;    // how late the player usually is, seconds
  double drive_ = 1;  // 0..1: how strongly the period follows
  double lastError_ = 0;
  double wander_ = 0;        // mean square of the errors, those of one sign counting double
  double heardSinceIn_ = 0;  // the same as heard_, since we came in
  double heard_ = 0;         // weight of the onsets that have been heard on the beat
  double spread_ = 0.05;     // of the errors, in beats
  int settling_ = 0;         // onsets for which corrections are still quick

  double firstChord_ = -1;
  double lastOnset_ = 0;  // time of the last closed cluster
  double lastMelody_ = 0;
  double lastChordPlace_ = -1e9;  // in beats
  bool cameBack_ = false;         // the last chord was taken for the player's own downbeat
  bool held_ = false;
  bool searching_ = false;
  std::array<float, 12> chords_{};  // where chords were struck: beats modulo twelve
  float chordsOff_ = 0;
  double chordRate_ = 0.5;  // share of downbeats that had a chord
  int strays_ = 0;          // onsets in a row for which another phase fits better
  int otherTempo_ = 0;      // and another tempo
  int sinceStart_ = 0;      // onsets

  std::int64_t downbeat_ = 0;  // the next one that is to be checked
  bool silentChecked_ = false;
  std::int64_t expected_ = 0;  // the downbeat that is waited for
  std::int64_t ceiling_ = 0;   // the beat that must not be reached before
  bool toStand_ = false;
  bool toSteer_ = false;
  bool otherBars_ = false;  // which the clock has not been told of
  bool starting_ = false;   // the beat is known, and the clock starts on startBeat_
  std::int64_t startBeat_ = 0;
  std::int64_t firstBeat_ = 0;
  std::int64_t steeredBeat_ = 0;
  std::array<double, 8> counts_{};  // the count-in
  int counted_ = 0;

  Samples deadline_ = never;
};

}  // namespace seguente
