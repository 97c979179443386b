#include "tests/train/net_trainer.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace seguente::test {

double exponential(double x) {
  x = std::clamp(x, -60.0, 60.0);
  const double halvings = 64;
  const double r = x / halvings;
  double sum = 1, term = 1;
  for (int i = 1; i < 12; ++i) sum += term *= r / i;
  for (int i = 0; i < 6; ++i) sum *= sum;
  return sum;
}

namespace {
/// The natural logarithm by Newton's method on the exponential, for reports alone.
double logarithm(double x) {
  double y = 0;
  for (int i = 0; i < 40; ++i) y += 2 * (x - exponential(y)) / (x + exponential(y));
  return y;
}
}  // namespace

NetTrainer::NetTrainer(std::uint64_t seed) {
  Random random(seed);
  const auto fill = [&](std::vector<float>& w, double spread) {
    for (auto& v : w) v = static_cast<float>((static_cast<double>(random.between(-100000, 100000)) / 100000) * spread);
  };
  fill(net_.w1, 0.2);
  fill(net_.w2, 0.25);
  fill(net_.w3, 0.3);
}

float NetTrainer::learn(const HandFeatures& features, float truth) {
  std::array<float, handHidden1> one, back1{};
  std::array<float, handHidden2> two, back2{};
  std::copy(net_.b1.begin(), net_.b1.end(), one.begin());
  for (std::size_t f = 0; f < handFeatureCount; ++f) {
    if (features[f] == 0) continue;
    const float x = static_cast<float>(features[f]) / 64;
    const float* w = &net_.w1[f * handHidden1];
    for (std::size_t u = 0; u < handHidden1; ++u) one[u] += x * w[u];
  }
  std::copy(net_.b2.begin(), net_.b2.end(), two.begin());
  for (std::size_t i = 0; i < handHidden1; ++i) {
    one[i] = std::max(one[i], 0.0F);
    const float* w = &net_.w2[i * handHidden2];
    for (std::size_t u = 0; u < handHidden2; ++u) two[u] += one[i] * w[u];
  }
  float out = net_.b3[0];
  for (std::size_t u = 0; u < handHidden2; ++u) out += std::max(two[u], 0.0F) * net_.w3[u];
  const auto chance = static_cast<float>(1 / (1 + exponential(-static_cast<double>(out))));
  const float d = chance - truth;
  gradient_.b3[0] += d;
  for (std::size_t u = 0; u < handHidden2; ++u) {
    if (two[u] <= 0) continue;
    gradient_.w3[u] += d * two[u];
    back2[u] = d * net_.w3[u];
    gradient_.b2[u] += back2[u];
  }
  for (std::size_t i = 0; i < handHidden1; ++i) {
    if (one[i] <= 0) continue;
    const float* w = &net_.w2[i * handHidden2];
    float* g = &gradient_.w2[i * handHidden2];
    float sum = 0;
    for (std::size_t u = 0; u < handHidden2; ++u) {
      g[u] += one[i] * back2[u];
      sum += w[u] * back2[u];
    }
    back1[i] = sum;
    gradient_.b1[i] += sum;
  }
  for (std::size_t f = 0; f < handFeatureCount; ++f) {
    if (features[f] == 0) continue;
    const float x = static_cast<float>(features[f]) / 64;
    float* g = &gradient_.w1[f * handHidden1];
    for (std::size_t u = 0; u < handHidden1; ++u) g[u] += x * back1[u];
  }
  return truth > 0.5F ? chance : 1 - chance;
}

void NetTrainer::step(float rate, std::size_t batch) {
  ++steps_;
  constexpr float keepMean = 0.9F, keepSquare = 0.999F, decay = 2e-6F;
  double powerMean = 1, powerSquare = 1;
  for (int i = 0; i < std::min(steps_, 20000); ++i) {
    powerMean *= 0.9;
    powerSquare *= 0.999;
    if (powerSquare < 1e-9) break;
  }
  const auto unbiasMean = static_cast<float>(1 / (1 - powerMean)),
             unbiasSquare = static_cast<float>(1 / (1 - powerSquare));
  const float share = 1.0F / static_cast<float>(batch);
  const auto update = [&](std::vector<float>& w, std::vector<float>& g, std::vector<float>& m, std::vector<float>& s) {
    for (std::size_t i = 0; i < w.size(); ++i) {
      const float slope = g[i] * share + decay * w[i];
      m[i] = keepMean * m[i] + (1 - keepMean) * slope;
      s[i] = keepSquare * s[i] + (1 - keepSquare) * slope * slope;
      w[i] -= rate * (m[i] * unbiasMean) / (std::sqrt(s[i] * unbiasSquare) + 1e-7F);
      w[i] = std::clamp(w[i], -3.9F, 3.9F);
      g[i] = 0;
    }
  };
  update(net_.w1, gradient_.w1, mean_.w1, square_.w1);
  update(net_.b1, gradient_.b1, mean_.b1, square_.b1);
  update(net_.w2, gradient_.w2, mean_.w2, square_.w2);
  update(net_.b2, gradient_.b2, mean_.b2, square_.b2);
  update(net_.w3, gradient_.w3, mean_.w3, square_.w3);
  update(net_.b3, gradient_.b3, mean_.b3, square_.b3);
}

double NetTrainer::teach(const Lessons& lessons, const TrainingPlan& plan) {
  constexpr std::size_t batch = 64;
  Random random(plan.seed);
  std::vector<std::uint32_t> order(lessons.count());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<std::uint32_t>(i);
  const std::size_t total = order.size() / batch * static_cast<std::size_t>(plan.epochs);
  std::size_t done = 0;
  double loss = 0;
  for (int epoch = 0; epoch < plan.epochs; ++epoch) {
    for (std::size_t i = order.size(); i > 1; --i)
      std::swap(order[i - 1], order[static_cast<std::size_t>(random.next() % i)]);
    double sum = 0;
    std::size_t seen = 0;
    for (std::size_t from = 0; from + batch <= order.size(); from += batch, ++done) {
      for (std::size_t i = from; i < from + batch; ++i) {
        const float good = learn(lessons.features[order[i]], lessons.right[order[i]]);
        if (i % 16 == 0) {
          sum -= logarithm(std::max(1e-6, static_cast<double>(good)));
          ++seen;
        }
      }
      const auto left = 1 - static_cast<float>(done) / static_cast<float>(total);
      step(plan.firstRate * (0.03F + 0.97F * left * left), batch);
    }
    loss = sum / static_cast<double>(std::max<std::size_t>(1, seen));
  }
  return loss;
}

HandNet NetTrainer::rounded() const {
  const auto whole = [](float v, float parts) { return static_cast<std::int32_t>(std::floor(v * parts + 0.5F)); };
  HandNet net;
  for (std::size_t u = 0; u < handHidden1; ++u) {
    for (std::size_t f = 0; f < handFeatureCount; ++f)
      net.weights1[u][f] = static_cast<std::int16_t>(whole(net_.w1[f * handHidden1 + u], 64));
    net.biases1[u] = whole(net_.b1[u], 4096);
  }
  for (std::size_t u = 0; u < handHidden2; ++u) {
    for (std::size_t i = 0; i < handHidden1; ++i)
      net.weights2[u][i] = static_cast<std::int16_t>(whole(net_.w2[i * handHidden2 + u], 64));
    net.biases2[u] = whole(net_.b2[u], 4096);
    net.weights3[u] = static_cast<std::int16_t>(whole(net_.w3[u], 64));
  }
  net.bias3 = whole(net_.b3[0], 4096);
  return net;
}

}  // namespace seguente::test
