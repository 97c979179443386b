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
  std::vector<int> performances = {3750, 7500, 22500};  // a round each
  std::vector<int> epochs = {2, 2, 4};
  std::uint64_t seed = 1;
};

/// Goes to school; says how it goes, line by line. Same plan, same nets. [message]
HandNets goToSchool(const SchoolPlan& plan, const std::function<void(const std::string&)>& say);
/// A number that changes when the plan, the generator, the features or the chord that is known do: it stands in the
/// table, so that a table that is older than its recipe is found out without the minutes that making it takes.
std::uint64_t recipeOf(const SchoolPlan& plan);
/// The table as it stands in the tree.
std::string tableOf(const HandNets& nets, std::uint64_t recipe);

}  // namespace seguente::test
