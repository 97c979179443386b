// Makes dsp/hand_weights.inc: train_hands OUT [--seed N] [--share PERCENT] [--try N]. Some minutes; same bytes every
// time.
// --share: a part of the performances, for trials. --try: then plays N others a group to it, of the learning half.
#include <cstdio>
#include <cstring>
#include <fstream>

#include "tests/performances/tally.h"
#include "tests/train/hand_school.h"

using namespace seguente;
using namespace seguente::test;

namespace {

int askNet(void* context, const HandFeatures& features, const HeardNote&, bool again) {
  const auto& nets = *static_cast<const HandNets*>(context);
  return rightOdds(again ? nets.again : nets.first, features);
}

void tryOut(HandNets& nets, int count) {
  std::printf("%-18s %7s %6s %7s | %5s %5s %5s %5s %5s\n", "group", "at once", "+-", "after", "lent", "withd", "wrong",
              "late", "wrong");
  for (std::size_t g = 0; g < groupCount; ++g) {
    HandTally t;
    for (int i = 0; i < count; ++i) {
      const auto played = performanceOf(static_cast<Group>(g), Half::learn, 900000000u + static_cast<std::uint64_t>(i));
      t.add(played, listen(played, {&nets, askNet}, {},
                           i % 3 == 0   ? ClockKind::none
                           : i % 3 == 1 ? ClockKind::right
                                        : ClockKind::wrong,
                           false));
    }
    std::printf("%-18s %7.2f %6.2f %7.2f | %5.1f %5.1f %5.1f %5.1f %5.1f\n", groupName(static_cast<Group>(g)),
                t.atOnce(), t.interval(), t.after(), t.perThousand(t.lent), t.perThousand(t.withdrawn),
                t.perThousand(t.wronglyWithdrawn), t.perThousand(t.late), t.perThousand(t.wronglyLate));
    if (g + 1 == groupCount)
      for (std::size_t b = 0; b < 10; ++b)
        std::printf("%zu0 %%: %d, %.1f  ", b, t.sure[b], 100.0 * t.sureRight[b] / std::max(1, t.sure[b]));
  }
  std::printf("\n");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  SchoolPlan plan;
  int others = 0;
  for (int i = 2; i + 1 < argc; i += 2) {
    const int value = std::stoi(argv[i + 1]);
    if (std::strcmp(argv[i], "--seed") == 0) plan.seed = static_cast<std::uint64_t>(value);
    if (std::strcmp(argv[i], "--share") == 0)
      for (auto& n : plan.performances) n = n * value / 100;
    if (std::strcmp(argv[i], "--try") == 0) others = value;
  }
  auto nets = goToSchool(plan, [](const std::string& line) {
    std::printf("%s\n", line.c_str());
    std::fflush(stdout);
  });
  std::ofstream(argv[1]) << tableOf(nets, recipeOf(plan));
  if (others > 0) tryOut(nets, others);
  return 0;
}
