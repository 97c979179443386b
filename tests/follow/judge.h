// How well beats were followed: the measures that beat tracking is judged by, over beats that were told as they fell.
#pragma once

#include <string>
#include <vector>

#include "tests/follow/performer.h"

namespace seguente::test {

/// One beat as the engine told it, final. Seconds. [any]
struct ToldBeat {
  double falls = 0;
  double told = 0;
  bool downbeat = false;
  Meter meter{};
  bool live() const { return told <= falls + 0.12; }  // not merely known afterwards
};

/// Runs the engine over a performance, with an idiom. [message]
std::vector<ToldBeat> followed(const Played& played, const Settings& settings, const char* idiomName = "waltz");

/// [any]
struct Verdicts {
  double beats = 0;  // F-measure within 70 ms (REFERENCES section 6), from the first chord on
  double downbeats = 0;
  double settledBeats = 0;  // the same from the fifth second on, as mir_eval judges
  double settledDownbeats = 0;
  double continuity = 0;  // share of beats that continue right: place and interval within 17.5 %
  bool galloped = false;  // two bars and more at about twice, half or 3/2 of the tempo
  double returned = 0;    // share of downbeats after a stop that were met within 70 ms
  int returns = 0;
};
Verdicts judge(const Played& played, const std::vector<ToldBeat>& told);

/// 2 * hits / (all told + all true), each beat used once. [any]
double fMeasure(const std::vector<double>& truth, const std::vector<double>& told, double within = 0.07);

}  // namespace seguente::test
