// The recipe by which dsp/hand_weights.inc is made: performances of the learning half, played to the judge of hands in
// rounds. In the first round the teacher's hands are believed; in later rounds the net's own, so that it learns to live
// with its mistakes (Ross, Gordon & Bagnell 2011).
#pragma once

#include <functional>
#include <string>

#include "tests/train/net_trainer.h"

namespace seguente::test {

/// How much is taught. [any]
struct SchoolPlan {
  std::vector<int> performances = {700, 1500, 3000};  // a round each
  std::vector<int> epochs = {2, 2, 4};
  std::uint64_t seed = 1;
};

/// Goes to school; says how it goes, line by line. Same plan, same nets. [message]
HandNets goToSchool(const SchoolPlan& plan, const std::function<void(const std::string&)>& say);
/// The table as it stands in the tree.
std::string tableOf(const HandNets& nets);

}  // namespace seguente::test
