// How sound is measured: peak, mean square, loudness as broadcasters measure it, and the peak between samples.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <span>
#include <vector>

namespace seguente::test {

struct Stereo {
  std::vector<float> left, right;
  std::size_t size() const { return left.size(); }
};

inline double decibels(double amplitude) { return 20 * std::log10(std::max(amplitude, 1e-12)); }

inline double peakOf(std::span<const float> samples) {
  double peak = 0;
  for (const float s : samples) peak = std::max(peak, std::abs(static_cast<double>(s)));
  return peak;
}
inline double peakOf(const Stereo& s) { return std::max(peakOf(s.left), peakOf(s.right)); }

inline double rmsOf(std::span<const float> samples) {
  double sum = 0;
  for (const float s : samples) sum += static_cast<double>(s) * static_cast<double>(s);
  return samples.empty() ? 0 : std::sqrt(sum / static_cast<double>(samples.size()));
}
inline double rmsOf(const Stereo& s, std::size_t from, std::size_t count) {
  const auto part = [&](const std::vector<float>& v) { return rmsOf(std::span<const float>(v).subspan(from, count)); };
  return std::hypot(part(s.left), part(s.right));
}

/// Programme loudness in LUFS, at 48,000: ITU-R BS.1770-4, annex 1: its two filters (tables 1 and 2), blocks of 0.4 s
/// overlapping by three quarters, gates at -70 and 10 below.
inline double loudnessOf(const Stereo& sound) {
  const auto filtered = [](const std::vector<float>& in) {
    const auto biquad = [](std::vector<double> x, std::array<double, 3> b, std::array<double, 2> a) {
      double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
      for (double& v : x) {
        const double y = b[0] * v + b[1] * x1 + b[2] * x2 - a[0] * y1 - a[1] * y2;
        x2 = x1;
        x1 = v;
        y2 = y1;
        y1 = v = y;
      }
      return x;
    };
    auto x = biquad({in.begin(), in.end()}, {1.53512485958697, -2.69169618940638, 1.19839281085285},
                    {-1.69065929318241, 0.73248077421585});
    return biquad(std::move(x), {1, -2, 1}, {-1.99004745483398, 0.99007225036621});
  };
  const auto l = filtered(sound.left), r = filtered(sound.right);
  std::vector<double> powers;
  for (std::size_t at = 0; at + 19200 <= l.size(); at += 4800) {
    double sum = 0;
    for (std::size_t i = at; i < at + 19200; ++i) sum += l[i] * l[i] + r[i] * r[i];
    powers.push_back(sum / 19200);
  }
  const auto loudness = [](double power) { return -0.691 + 10 * std::log10(std::max(power, 1e-20)); };
  const auto meanAbove = [&](double gate) {
    double sum = 0;
    int count = 0;
    for (const double p : powers)
      if (loudness(p) > gate) sum += p, ++count;
    return count > 0 ? loudness(sum / count) : -200;
  };
  return meanAbove(std::max(-70.0, meanAbove(-70) - 10));
}

/// The greatest distance from zero of the curve through the samples: four times as many, by a windowed sinc
/// (ITU-R BS.1770-4, annex 2, has twelve taps a phase; here it is 32).
inline double truePeakOf(std::span<const float> samples) {
  constexpr int half = 16;
  double peak = peakOf(samples);
  for (int phase = 1; phase < 4; ++phase) {
    std::array<double, 2 * half> taps{};
    for (int k = 0; k < 2 * half; ++k) {
      const double t = k - half + 1 - phase / 4.0;
      const double window = 0.5 + 0.5 * std::cos(std::numbers::pi * t / half);
      taps[static_cast<std::size_t>(k)] = std::sin(std::numbers::pi * t) / (std::numbers::pi * t) * window;
    }
    for (std::size_t i = half; i + half < samples.size(); ++i) {
      double v = 0;
      for (int k = 0; k < 2 * half; ++k)
        v += taps[static_cast<std::size_t>(k)] *
             static_cast<double>(samples[i + static_cast<std::size_t>(k) - half + 1]);
      peak = std::max(peak, std::abs(v));
    }
  }
  return peak;
}

}  // namespace seguente::test
