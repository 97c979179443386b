#include "tests/performances/touch.h"

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace seguente::test {

Touch::Touch() {
  std::ifstream file(std::string(SEGUENTE_TEST_REFERENCE) + "/touch/vienna4x22_touch.json");
  if (!file) throw std::runtime_error("vienna4x22_touch.json is missing");
  const auto all = nlohmann::json::parse(file).at("all four");
  for (const auto& [name, facts] : all.items()) {
    if (!facts.is_object()) continue;
    auto& row = rows_[name];
    std::size_t i = 0;
    for (const auto* at : {"p05", "p25", "median", "p75", "p90", "p95", "p99"}) row[i++] = facts.at(at).get<double>();
  }
}

double Touch::draw(const std::string& name, Random& random) const {
  constexpr std::array<double, 7> points = {0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99};
  const auto& row = rows_.at(name);
  const double where = 0.05 + 0.94 * unit(random);
  for (std::size_t i = 0; i + 1 < points.size(); ++i)
    if (where <= points[i + 1])
      return row[i] + (row[i + 1] - row[i]) * (where - points[i]) / (points[i + 1] - points[i]);
  return row.back();
}

double unit(Random& random) { return static_cast<double>(random.between(0, 1 << 20)) / (1 << 20); }

double around(double spread, Random& random) { return (unit(random) + unit(random) - 1) * spread; }

}  // namespace seguente::test
