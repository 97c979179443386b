// How well the hands' beat is followed: `./run bench follow`. Tuned on the even half of tunes and seeds; the report is
// on the odd half.  follow_bench [tune | report | each] [performances a group]
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
  bool guess = false;
  double beatsBar = 0, downbeatsBar = 0;
};

bool two(const Tune& t) { return t.meter.denominator == 4; }

int run(const Group& group, const std::vector<Tune>& tunes, bool report, bool each, int count) {
  double beats = 0, downbeats = 0, continuity = 0;
  std::vector<double> all;
  int gallops = 0, returns = 0, n = 0;
  double met = 0;
  const int perTune = std::max(1, count / static_cast<int>(tunes.size()));
  for (std::size_t t = 0; t < tunes.size(); ++t) {
    if (group.guess && !two(tunes[t])) continue;
    double tuneBeats = 0, tuneDown = 0;
    int tuneGallops = 0;
    for (int i = 0; i < perTune; ++i) {
      const auto seed = static_cast<std::uint64_t>(i * 2 + (report ? 1 : 0)) * 1000 + t;
      Random random(seed ^ 0x5EED);
      Manner manner = group.manner;
      manner.tempo *= std::getenv("WIDE") ? std::exp(uniform(random, -0.4, 0.4)) : uniform(random, 0.85, 1.15);
      manner.repeats = tunes[t].total < 40 ? 2 : 1;
      const auto played = play(tunes[t], manner, seed);
      auto settings = followingSettings(played.meter, group.guess);
      if (std::getenv("HINT"))
        settings.follow.tempo = static_cast<std::uint16_t>(tunes[t].quartersPerMinute * manner.tempo);
      const auto v = judge(played, followed(played, settings));
      beats += v.beats;
      downbeats += v.downbeats;
      continuity += v.continuity;
      gallops += v.galloped ? 1 : 0;
      returns += v.returns;
      met += v.returned * v.returns;
      all.push_back(v.beats);
      tuneBeats += v.beats;
      tuneDown += v.downbeats;
      tuneGallops += v.galloped ? 1 : 0;
      ++n;
    }
    if (each)
      std::printf("    %-44s %d/%d  beats %.3f downbeats %.3f gallops %d\n", tunes[t].title.c_str(),
                  tunes[t].meter.numerator, tunes[t].meter.denominator, tuneBeats / perTune, tuneDown / perTune,
                  tuneGallops);
  }
  std::sort(all.begin(), all.end());
  const double b = beats / n, d = downbeats / n;
  const bool missed = b < group.beatsBar || d < group.downbeatsBar;
  std::printf("%-34s %5d  %.3f  %.3f  %.3f  %.3f  %5d", group.name, n, b, all[all.size() / 20], d, continuity / n,
              gallops);
  if (returns > 0) std::printf("   %.3f", met / returns);
  std::printf("%s\n", missed ? "  MISSED" : "");
  std::fflush(stdout);
  return missed ? 1 : 0;
}

int closedLoop(bool report, int count) {
  int missed = 0;
  std::printf("\n%-34s %5s  %s\n", "a player who follows us, 5 minutes", "runs",
              "drift mean, worst; farthest in between; apart (ms)");
  for (const double adopts : {0.0, 0.2, 0.5}) {
    double sum = 0, worst = 0, farthest = 0, apart = 0;
    int over = 0;
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
      over += drift >= 0.02 ? 1 : 0;
    }
    std::printf("  takes over %3.0f %% of our tempo     %5d  %.3f %.3f (%d over 0.02); %.3f; %.0f%s\n", adopts * 100,
                count, sum / count, worst, over, farthest, apart / count * 1000, over > 0 ? "  MISSED" : "");
    std::fflush(stdout);
    missed += over > 0 ? 1 : 0;
  }
  return missed;
}

}  // namespace

namespace seguente {
extern double K[40], F[40];
}
int main(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    int k;
    double v;
    if (std::sscanf(argv[i], "K%d=%lf", &k, &v) == 2) seguente::K[k] = v;
    if (std::sscanf(argv[i], "F%d=%lf", &k, &v) == 2) seguente::F[k] = v;
  }
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
  std::printf("%-34s %5s  %-5s  %-5s  %-5s  %-5s  %5s   %s\n", "beats told as they fall, +-70 ms", "n", "beats", "5 %",
              "downb", "cont", "gallop", "met after a stop");
  int missed = 0;
  const bool quick = std::getenv("QUICK") != nullptr;
  const Group groups[] = {
      {"steady", {0.01}, false, 0.90, 0.85},
      {"moderate rubato, 8 %", {0.08}, false, 0.90, 0.85},
      {"strong rubato, 20 %", {0.20}, false, 0.75, 0.70},
      {"moderate, chords held over", {0.08, 1, 1, false, false, true}, false, 0.90, 0.85},
      {"moderate, with fermatas", {0.08, 1, 1, true}, false, 0, 0},
      {"moderate, two or three guessed", {0.08}, true, 0, 0},
      {"learner", {0.08, 0.75, 1, false, true}, false, 0, 0},
  };
  if (quick) {
    run(groups[1], tunes, report, each, count);
    run(groups[2], tunes, report, each, count);
    run(groups[4], tunes, report, each, count);
    closedLoop(report, 6);
    return 0;
  }
  for (const auto& g : groups) missed += run(g, tunes, report, each, count);
  missed += closedLoop(report, std::max(4, count / 25));
  return missed > 0 ? 1 : 0;
}
