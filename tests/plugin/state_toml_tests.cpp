// What we write is TOML: another library reads the same out of it.
#include "plugin/state.h"
#include "tests/catch.h"
#include "tests/plugin/state_examples.h"

#define TOML_HEADER_ONLY 1
#include <toml++/toml.h>

using namespace seguente;
using namespace seguente::test;

TEST_CASE("Another reader of TOML finds the same parameters, signals and texts in a session", "[plugin]") {
  Random random(7);
  for (int n = 0; n < 200; ++n) {
    const auto state = randomState(random, Letters::unicode);
    const auto text = writeState(state);
    INFO(text);
    const auto table = toml::parse(text);
    CHECK(table["version"].value<int>() == stateVersion);
    for (const auto& row : parameterTable()) {
      const auto node = table["parameters"][row.id];
      const double value = state.values[static_cast<std::size_t>(row.which)];
      if (const auto number = node.value_exact<double>())
        CHECK(*number == Approx(value));
      else if (const auto whole = node.value_exact<std::int64_t>())
        CHECK(static_cast<double>(*whole) == value);
      else if (const auto truth = node.value_exact<bool>())
        CHECK((*truth ? 1 : 0) == value);
      else
        CHECK(valueOf(row, node.value_or(std::string{})) == value);
    }
    for (std::size_t i = 0; i < signalCount; ++i)
      CHECK(giverFrom(table["signals"][idOf(static_cast<Signal>(i))].value_or(std::string{})) == state.givers[i]);
    const auto* idioms = table["idioms"].as_array();
    REQUIRE((idioms == nullptr ? 0 : idioms->size()) == state.slots.size());
    for (std::size_t i = 0; i < state.slots.size(); ++i) {
      const auto& idiom = *idioms->get_as<toml::table>(i);
      CHECK(idiom["slot"].value<int>() == state.slots[i].slot);
      CHECK(idiom["id"].value<std::string>() == state.slots[i].id);
      CHECK(idiom["text"].value<std::string>() == state.slots[i].text);
    }
  }
}
