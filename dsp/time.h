// Musical time and sample time, and the one map between them.
//
// Conventions, said once:
//   quarter   a quarter note; the unit of every file format and host position
//   beat      the meter's denominator unit (6/8 has six beats of an eighth); pattern files count in it, from 1
//   tick      1/322,560 of a quarter = 2^10 * 3^2 * 5 * 7: thirds, fifths, sevenths and every usual MIDI-file
//             resolution divide it; half a tick at 120 quarters a minute and 48 kHz is 0.04 sample
//   bar       meter.numerator beats, counted from a bar start that somebody (host, file, hands) gave
//   sample    counted from prepare; every span is half-open, start <= s < end
//   rounding  sampleOf is the only place in dsp/ where a tick becomes a sample; nothing is summed block to block
#pragma once

#include <cstdint>
#include <limits>

namespace seguente {

/// A count of ticks, 322,560 to the quarter. Any sign; negative is before the origin. [any]
struct Ticks {
  std::int64_t value = 0;
  friend constexpr bool operator==(Ticks, Ticks) = default;
  friend constexpr bool operator<(Ticks a, Ticks b) { return a.value < b.value; }
  friend constexpr bool operator>(Ticks a, Ticks b) { return a.value > b.value; }
  friend constexpr bool operator<=(Ticks a, Ticks b) { return a.value <= b.value; }
  friend constexpr bool operator>=(Ticks a, Ticks b) { return a.value >= b.value; }
  friend constexpr Ticks operator+(Ticks a, Ticks b) { return {a.value + b.value}; }
  friend constexpr Ticks operator-(Ticks a, Ticks b) { return {a.value - b.value}; }
  friend constexpr Ticks operator*(Ticks a, std::int64_t n) { return {a.value * n}; }
};

inline constexpr Ticks quarter{322560};
/// A place that no music reaches. [any]
inline constexpr Ticks farTick{std::int64_t{1} << 60};

/// A place in the sample stream, counted from prepare. [any]
struct Samples {
  std::int64_t value = 0;
  friend constexpr bool operator==(Samples, Samples) = default;
  friend constexpr bool operator<(Samples a, Samples b) { return a.value < b.value; }
  friend constexpr bool operator>(Samples a, Samples b) { return a.value > b.value; }
  friend constexpr bool operator<=(Samples a, Samples b) { return a.value <= b.value; }
  friend constexpr bool operator>=(Samples a, Samples b) { return a.value >= b.value; }
  friend constexpr Samples operator+(Samples a, Samples b) { return {a.value + b.value}; }
  friend constexpr Samples operator-(Samples a, Samples b) { return {a.value - b.value}; }
};

inline constexpr Samples never{std::numeric_limits<std::int64_t>::max() / 4};

/// An exact fraction of a quarter or a beat as a file states it. denominator > 0, lowest terms not required. [any]
struct Fraction {
  std::int64_t numerator = 0;
  std::int64_t denominator = 1;
};

/// The integer quotient rounded down, also below zero (a bar before the origin is bar -1). [any]
constexpr std::int64_t floorDivide(std::int64_t a, std::int64_t b) {
  const auto q = a / b;
  return (a % b != 0 && ((a < 0) != (b < 0))) ? q - 1 : q;
}

/// std::floor of a number that fits, without the library call that older instruction sets need for it. [any]
constexpr std::int64_t floorToInteger(double x) {
  const auto towardsZero = static_cast<std::int64_t>(x);
  return towardsZero - (static_cast<double>(towardsZero) > x ? 1 : 0);
}

/// A straight place as it is played: within each pair long and short, by `permille` = 1000 x long : short. [any]
constexpr Ticks swung(Ticks straight, std::int64_t permille, Ticks pairLength) {
  const auto pair = pairLength.value;
  const auto half = pair / 2;
  const auto start = floorDivide(straight.value, pair) * pair;
  const auto place = straight.value - start;
  const auto longer = pair * permille / (1000 + permille);
  if (place < half) return {start + place * longer / half};
  return {start + longer + (place - half) * (pair - longer) / half};
}

/// numerator/denominator as printed on the staff. numerator 1..32; denominator 1, 2, 4, 8, 16 or 32. [any]
struct Meter {
  std::uint8_t numerator = 4;
  std::uint8_t denominator = 4;
  friend constexpr bool operator==(Meter, Meter) = default;
  constexpr Ticks beat() const { return {quarter.value * 4 / denominator}; }
  constexpr Ticks bar() const { return beat() * numerator; }
  constexpr bool valid() const {
    const auto d = denominator;
    return numerator >= 1 && numerator <= 32 && d != 0 && d <= 32 && (d & (d - 1)) == 0;
  }
};

/// Whether three of its lower figure are felt as one beat, as in 6/8 (3/8 included). [any]
constexpr bool compound(Meter m) { return m.numerator % 3 == 0 && m.denominator >= 8; }

/// One steady stretch of time: where a tick and a sample coincide, and how many samples a tick takes. [any]
/// Re-anchored on a tempo change or a jump only. Idea: an affine map with two origins, own derivation.
struct Timeline {
  double samplesPerTick = 48000.0 * 60.0 / (120.0 * 322560.0);
  Ticks tickOrigin{};
  Samples sampleOrigin{};

  /// The sample nearest to a tick: the only rounding in dsp/ (halves go up). [any]
  Samples sampleOf(Ticks t) const {
    const std::int64_t ticks = (t - tickOrigin).value;
    const double exact = static_cast<double>(ticks) * samplesPerTick + 0.5;
    // From the origin on, as nearly always, a cast rounds down.
    return {sampleOrigin.value + (ticks >= 0 ? static_cast<std::int64_t>(exact) : floorToInteger(exact))};
  }
  /// The last tick whose sample is at or before s, to within one tick; for asking "where are we", not for steps. [any]
  Ticks tickAt(Samples s) const {
    const double exact = static_cast<double>((s - sampleOrigin).value) / samplesPerTick;
    return {tickOrigin.value + floorToInteger(exact + 1e-6)};
  }
  static constexpr double samplesPerTickAt(double quartersPerMinute, double rate) {
    return rate * 60.0 / (quartersPerMinute * static_cast<double>(quarter.value));
  }
};

}  // namespace seguente
