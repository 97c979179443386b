// The presets that come with the bundles, opened by a host of each format: what its user then has is what the preset's
// file says, and with it the idiom's whole text.
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "plugin/shipped_idioms.h"
#include "plugin/state.h"
#include "tests/catch.h"
#include "tests/host/bundle.h"

using namespace seguente;
using namespace seguente::host;

namespace {

nlohmann::json description() {
  std::ifstream file(SEGUENTE_DESCRIPTION);
  return nlohmann::json::parse(file);
}

juce::MemoryBlock fileOf(const juce::String& path) {
  juce::MemoryBlock data;
  REQUIRE(juce::File(path).loadFileAsData(data));
  return data;
}

/// The chunk 'Comp' of a preset file, without what the wrapper puts behind our state. Layout: vstpresetfile.h.
std::string componentState(const juce::MemoryBlock& file) {
  const auto* bytes = static_cast<const char*>(file.getData());
  const auto number = [bytes](std::size_t at) {
    std::int64_t n = 0;
    std::memcpy(&n, bytes + at, sizeof n);
    return static_cast<std::size_t>(n);
  };
  const auto list = number(40);
  REQUIRE(list + 28 <= file.getSize());
  REQUIRE(std::string(bytes + list, 4) == "List");
  REQUIRE(std::string(bytes + list + 8, 4) == "Comp");
  const std::string chunk(bytes + number(list + 12), number(list + 20));
  return chunk.substr(0, chunk.find('\0'));
}

struct PresetFile : juce::ExtensionsVisitor {
  void visitVST3Client(const VST3Client& client) override {
    if (load.getSize() > 0) loaded = client.setPreset(load);
    saved = client.getPreset();
  }
  juce::MemoryBlock load, saved;
  bool loaded = false;
};

/// What the plugin itself saves, as a session.
SavedState stateOf(Bundle& bundle) {
  std::string text;
  if (bundle.format() == Format::vst3) {
    PresetFile visitor;
    bundle.plugin().getExtensions(visitor);
    text = componentState(visitor.saved);
  } else {
    juce::MemoryBlock turtle, state;
    bundle.plugin().getStateInformation(turtle);
    const auto encoded = turtle.toString().fromFirstOccurrenceOf("StateString>", false, false);
    REQUIRE(state.fromBase64Encoding(
        encoded.fromFirstOccurrenceOf("\"", false, false).upToFirstOccurrenceOf("\"", false, false)));
    text = state.toString().toStdString();
  }
  const auto result = readState(text);
  INFO(result.fault);
  REQUIRE(result.state);
  return *result.state;
}

void open(Bundle& bundle, const std::string& title) {
  if (bundle.format() == Format::vst3) {
    PresetFile visitor;
    visitor.load = fileOf(juce::String(SEGUENTE_VST3_PRESETS) + "/" + title + ".vstpreset");
    bundle.plugin().getExtensions(visitor);
    REQUIRE(visitor.loaded);
    return;
  }
  for (int program = 0; program < bundle.plugin().getNumPrograms(); ++program)
    if (bundle.plugin().getProgramName(program) == juce::String(title))
      return bundle.plugin().setCurrentProgram(program);
  FAIL("no LV2 preset " << title);
}

}  // namespace

TEST_CASE("each preset, opened by a host, gives the settings of its file and the whole idiom", "[presets]") {
  const auto presets = description()["presets"];
  REQUIRE(presets.size() >= 7);
  for (const auto format : formats) {
    Bundle bundle(format);
    bundle.plugin().prepareToPlay(48000, 256);
    for (const auto& preset : presets) {
      INFO(nameOf(format) << ", " << preset["title"]);
      const auto meant = readState(preset["state"].get<std::string>());
      REQUIRE(meant.state);
      open(bundle, preset["title"].get<std::string>());
      const auto has = stateOf(bundle);
      for (const auto& row : parameterTable()) {
        INFO(row.id);
        const auto i = static_cast<std::size_t>(row.which);
        CHECK(has.values[i] == Approx(meant.state->values[i]));
      }
      const int slot = static_cast<int>(has.values[static_cast<std::size_t>(ParameterId::idiom)]);
      bool whole = false;
      for (const auto& shipped : shippedIdioms())
        for (const auto& saved : has.slots)
          whole = whole ||
                  (shipped.slot == static_cast<std::size_t>(slot) && saved.slot == slot && saved.text == shipped.text);
      CHECK(whole);
    }
  }
}

TEST_CASE("a host finds every preset under its title, and no empty one", "[presets]") {
  Bundle bundle(Format::lv2);
  const auto presets = description()["presets"];
  CHECK(bundle.plugin().getNumPrograms() == static_cast<int>(presets.size()));
  for (int program = 0; program < bundle.plugin().getNumPrograms(); ++program)
    CHECK(bundle.plugin().getProgramName(program).isNotEmpty());
}
