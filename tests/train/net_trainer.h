// Teaches the small net of dsp/hand_model.h from described notes: mini-batches and Adam (Kingma & Ba 2015),
// cross-entropy, so that its odds are chances. Floats in a fixed order and an exponential of our own: the same bytes
// wherever multiplications and additions are IEEE and are not fused.
#pragma once

#include <vector>

#include "dsp/hand_model.h"
#include "tests/support/random.h"

namespace seguente::test {

/// Described notes with their truth. [any]
struct Lessons {
  std::vector<HandFeatures> features;
  std::vector<std::uint8_t> right;
  std::size_t count() const { return features.size(); }
};

struct TrainingPlan {
  int epochs = 4;
  float firstRate = 0.003F;
  std::uint64_t seed = 1;
};

/// A net in floats. [message]
class NetTrainer {
 public:
  explicit NetTrainer(std::uint64_t seed);
  /// Goes over the lessons; returns the mean cross-entropy (nats) of the last epoch.
  double teach(const Lessons& lessons, const TrainingPlan& plan);
  /// Rounded to the integers that are shipped.
  HandNet rounded() const;

 private:
  struct Numbers {
    std::vector<float> w1, b1, w2, b2, w3, b3;  // w1: by feature, then unit; w2: by unit, then unit
    explicit Numbers()
        : w1(handFeatureCount * handHidden1),
          b1(handHidden1),
          w2(handHidden1 * handHidden2),
          b2(handHidden2),
          w3(handHidden2),
          b3(1) {}
    template <class Do>
    void each(Do&& act) {
      act(w1);
      act(b1);
      act(w2);
      act(b2);
      act(w3);
      act(b3);
    }
  };
  float learn(const HandFeatures& features, float truth);
  void step(float rate, std::size_t batch);

  Numbers net_, gradient_, mean_, square_;
  int steps_ = 0;
};

/// e to the x by its series on a small remainder. [any]
double exponential(double x);

}  // namespace seguente::test
