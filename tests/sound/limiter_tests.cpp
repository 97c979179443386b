// What the limiter promises: nothing above its ceiling, quiet sound untouched, no bang from what is no number.
#include <cmath>
#include <limits>
#include <numbers>

#include "plugin/sound/limiter.h"
#include "tests/catch.h"
#include "tests/sound/measures.h"

using namespace seguente;
using namespace seguente::test;

namespace {

constexpr double rate = 48000;

Stereo tone(double hertz, double amplitude, double seconds) {
  Stereo s;
  for (int i = 0; i < seconds * rate; ++i) {
    const auto v = static_cast<float>(amplitude * std::sin(2 * std::numbers::pi * hertz * i / rate));
    s.left.push_back(v);
    s.right.push_back(-v / 2);
  }
  return s;
}

float limit(Stereo& s, int block = 64) {
  Limiter limiter;
  limiter.prepare(rate);
  float least = 1;
  for (std::size_t at = 0; at < s.size(); at += static_cast<std::size_t>(block)) {
    const int count = static_cast<int>(std::min<std::size_t>(static_cast<std::size_t>(block), s.size() - at));
    least = std::min(least, limiter.process(&s.left[at], &s.right[at], count));
  }
  return least;
}

}  // namespace

TEST_CASE("Sound below the ceiling comes out as it went in, to the last bit") {
  auto s = tone(440, 0.89, 1);
  const auto before = s;
  CHECK(limit(s) == 1.0F);
  CHECK(s.left == before.left);
  CHECK(s.right == before.right);
}

TEST_CASE(
    "A tone 12 dB above full scale stays below the ceiling, is still a tone, and both sides are turned down alike") {
  for (const double hertz : {41.2, 440.0, 3000.0}) {  // E1, the lowest string of a bass; A4
    auto s = tone(hertz, 4, 1);
    const auto least = limit(s);
    INFO(hertz);
    CHECK(least == Approx(0.891251 / 4).margin(0.002));
    CHECK(peakOf(s) <= static_cast<double>(Limiter::ceiling));
    // What is left after the first waves is the tone itself: as a sine has it, its mean square is half its peak's.
    const std::span<const float> settled = std::span<const float>(s.left).subspan(9600);
    CHECK(rmsOf(settled) / peakOf(settled) == Approx(std::sqrt(0.5)).margin(0.01));
    for (std::size_t i = 0; i < s.size(); i += 97) CHECK(s.right[i] == Approx(-s.left[i] / 2).margin(1e-5));
  }
}

TEST_CASE("After a loud chord the limiter lets up slowly and wholly") {
  auto s = tone(440, 4, 0.1);
  const auto quiet = tone(440, 0.1, 3);
  s.left.insert(s.left.end(), quiet.left.begin(), quiet.left.end());
  s.right.insert(s.right.end(), quiet.right.begin(), quiet.right.end());
  limit(s);
  const auto rms = [&](double from) {
    return rmsOf(std::span<const float>(s.left).subspan(static_cast<std::size_t>(from * rate), 4800));
  };
  CHECK(rms(0.1) < 0.5 * rms(2.9));  // no jump where the loud chord ends
  CHECK(rms(2.9) == Approx(0.1 * std::sqrt(0.5)).epsilon(0.001));
}

TEST_CASE("Blocks do not matter to the limiter") {
  auto a = tone(100, 2, 0.5), b = a;
  limit(a, 7);
  limit(b, 4096);
  CHECK(a.left == b.left);
}

TEST_CASE("What is no number becomes silence, and what follows it sounds") {
  auto s = tone(440, 0.5, 0.2);
  s.left[100] = std::numeric_limits<float>::quiet_NaN();
  s.right[200] = std::numeric_limits<float>::infinity();
  limit(s);
  CHECK(s.left[100] == 0);
  CHECK(s.right[200] == 0);
  CHECK(peakOf(s) == Approx(0.5).margin(0.001));
}
