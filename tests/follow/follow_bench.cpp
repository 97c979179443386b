// How well the hands' beat is followed: `./run bench follow`. Constants were tuned on every other tune and on even
// seeds; the report is on the other tunes and odd seeds.   follow_bench [tune] [each] [performances a group]
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

#include "tests/follow/judge.h"

using namespace seguente;
using namespace seguente::test;

namespace {

struct Group {
  const char* name;
  Manner manner;
  bool guess = false;      // two or three
  bool tempoSaid = false;  // about how fast, as a file or a setting may say it
  double beatsBar = 0, downbeatsBar = 0;
};

struct Sums {
  double beats = 0, settled = 0, downbeats = 0, settledDownbeats = 0, continuity = 0, met = 0;
  int n = 0, gallops = 0, returns = 0;
  void add(const Verdicts& v) {
    beats += v.beats;
    settled += v.settledBeats;
    downbeats += v.downbeats;
    settledDownbeats += v.settledDownbeats;
    continuity += v.continuity;
    met += v.returned * v.returns;
    returns += v.returns;
    gallops += v.galloped ? 1 : 0;
    ++n;
  }
  void print(const char* name) const {
    std::printf("%-38.38s %5d   %.3f  %.3f   %.3f  %.3f   %.3f  %5.1f %%", name, n, beats / n, settled / n,
                downbeats / n, settledDownbeats / n, continuity / n, 100.0 * gallops / n);
    if (returns > 0) std::printf("   %.3f", met / returns);
  }
};

int run(const Group& group, const std::vector<Tune>& tunes, bool report, bool each, int count) {
  Sums all;
  const int perTune = std::max(1, count / static_cast<int>(tunes.size()));
  for (std::size_t t = 0; t < tunes.size(); ++t) {
    if (group.guess && tunes[t].meter.denominator != 4) continue;
    Sums one;
    for (int i = 0; i < perTune; ++i) {
      const auto seed = static_cast<std::uint64_t>(i * 2 + (report ? 1 : 0)) * 1000 + t;
      Random random(seed ^ 0x5EED);
      Manner manner = group.manner;
      manner.tempo *= uniform(random, 0.85, 1.15);
      manner.repeats = tunes[t].total < 40 ? 2 : 1;
      const auto played = play(tunes[t], manner, seed);
      auto settings = followingSettings(played.meter, group.guess);
      if (group.tempoSaid)
        settings.follow.tempo = static_cast<std::uint16_t>(tunes[t].quartersPerMinute * group.manner.tempo);
      const auto v = judge(played, followed(played, settings));
      all.add(v);
      one.add(v);
    }
    if (each) {
      one.print(("  " + tunes[t].title).c_str());
      std::printf("\n");
    }
  }
  all.print(group.name);
  const bool missed = all.settled / all.n < group.beatsBar || all.settledDownbeats / all.n < group.downbeatsBar;
  std::printf("%s\n", missed ? "   MISSED" : "");
  std::fflush(stdout);
  return missed ? 1 : 0;
}

int closedLoop(bool report, int count) {
  int missed = 0;
  std::printf("\n%-38s %5s   %s\n", "a player who follows us, 5 minutes", "runs",
              "tempo, end against fifth bar: mean, worst | farthest from the start in between | apart");
  for (const double adopts : {0.0, 0.2, 0.5}) {
    double sum = 0, worst = 0, farthest = 0, apart = 0;
    for (int i = 0; i < count; ++i) {
      const auto seed = static_cast<std::uint64_t>(i * 2 + (report ? 1 : 0));
      Random random(seed + 77);
      Together player;
      player.lag = uniform(random, 0.03, 0.08);
      player.share = uniform(random, 0.3, 0.8);
      player.adopts = adopts;
      player.period = uniform(random, 0.4, 0.8);
      player.meter = random.oneIn(2) ? Meter{3, 4} : Meter{4, 4};
      const auto r = playTogether(player, seed);
      const double drift = std::abs(r.endPeriod / r.earlyPeriod - 1);
      sum += drift;
      worst = std::max(worst, drift);
      farthest = std::max(farthest, r.farthest);
      apart += r.asynchrony;
    }
    std::printf("  takes over %3.0f %% of our tempo          %5d   %.1f %%, %.1f %% | %.1f %% | %.0f ms%s\n",
                adopts * 100, count, 100 * sum / count, 100 * worst, 100 * farthest, apart / count * 1000,
                sum / count >= 0.02 ? "   MISSED" : "");
    std::fflush(stdout);
    missed += sum / count >= 0.02 ? 1 : 0;
  }
  return missed;
}

}  // namespace

int main(int argc, char** argv) {
  bool report = true, each = false;
  int count = 1000;
  for (int i = 1; i < argc; ++i) {
    if (std::strcmp(argv[i], "tune") == 0) report = false;
    if (std::strcmp(argv[i], "each") == 0) each = true;
    if (std::atoi(argv[i]) > 0) count = std::atoi(argv[i]);
  }
  std::vector<Tune> tunes;
  const auto all = readTunes();
  for (std::size_t i = 0; i < all.size(); ++i)
    if ((i % 2 == 1) == report) tunes.push_back(all[i]);
  std::printf(
      "F within 70 ms of beats told as they fall: from the first chord | from the fifth second on (as is usual)\n");
  std::printf("%-38s %5s   %-12s   %-12s   %-5s  %7s   %s\n", "", "n", "beats", "downbeats", "cont.", "gallop",
              "met after a stop");
  int missed = 0;
  const Group groups[] = {
      {"steady", {0.01}, false, false, 0.90, 0.85},
      {"moderate rubato, 8 %", {0.08}, false, false, 0.90, 0.85},
      {"  the tempo roughly said", {0.08}, false, true, 0.90, 0.85},
      {"strong rubato, 20 %", {0.20}, false, false, 0.75, 0.70},
      {"  the tempo roughly said", {0.20}, false, true, 0.75, 0.70},
      {"8 %, repeated chords held over", {0.08, 1, 1, false, false, true}, false, true, 0, 0},
      {"8 %, fermatas", {0.08, 1, 1, true}, false, true, 0, 0},
      {"8 %, two or three guessed", {0.08}, true, true, 0, 0},
      {"learner", {0.08, 0.75, 1, false, true}, false, true, 0, 0},
  };
  for (const auto& g : groups) missed += run(g, tunes, report, each, count);
  missed += closedLoop(report, std::max(4, count / 40));
  return missed > 0 ? 1 : 0;
}
