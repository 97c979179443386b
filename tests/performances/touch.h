// How hands land, as measured over 22 pianists (tests/reference/touch/vienna4x22_touch.json): draws between the
// published percentiles. Milliseconds.
#pragma once

#include <array>
#include <map>
#include <string>

#include "tests/support/random.h"

namespace seguente::test {

class Touch {
 public:
  /// Reads the file. [message] A missing one stops the program.
  Touch();
  /// One draw of a measured quantity by its name in the file.
  double draw(const std::string& name, Random& random) const;

 private:
  std::map<std::string, std::array<double, 7>> rows_;
};

/// 0..1. [any]
double unit(Random& random);
/// Around 0, about -spread..spread, the middle likelier. [any]
double around(double spread, Random& random);

}  // namespace seguente::test
