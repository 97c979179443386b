// The program seguente_describe, of the build alone: the table of parameters, and each preset as the state that opens
// it, as JSON for finish_lv2.py and finish_vst3.py. So what the bundles say comes from the same table, and a preset is
// written by the same writer as a session.
//
//   seguente_describe PRESET.toml...
//
// A preset: title, about, idiom (its id), and under [settings] any parameters by id, as they are typed. What it does
// not name has its default. A fault is told with file, line and column, and nothing is written.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <optional>
#include <string>
#include <vector>

#include "plugin/parameters.h"
#include "plugin/shipped_idioms.h"
#include "plugin/state.h"
#include "plugin/state_text.h"

using namespace seguente;

namespace {

struct Preset {
  std::string id, title, about;
  SavedState state;
};

class PresetReader {
 public:
  PresetReader(const std::filesystem::path& path, const std::string& text) : path_(path), reader_(text) {
    preset_.id = path.stem().string();
    for (const auto& row : parameterTable()) preset_.state.values[index(row)] = row.standard;
  }

  std::optional<Preset> read() {
    while (auto token = reader_.next()) take(*token);
    if (!reader_.fault() && (preset_.title.empty() || preset_.about.empty() || !idiom_))
      reader_.refuse(reader_.at(), "the end of the file", "title, about and idiom before it");
    if (!reader_.fault()) return preset_;
    auto fault = *reader_.fault();
    fault.file = path_.string();
    std::cerr << fault.text() << "\n";
    return std::nullopt;
  }

 private:
  static std::size_t index(const Parameter& row) { return static_cast<std::size_t>(row.which); }

  void take(const StateToken& token) {
    if (token.item != StateItem::value) {
      settings_ = token.item == StateItem::section && token.name == "settings";
      if (!settings_) reader_.refuse(token.at, std::string(token.name), "[settings]");
    } else if (settings_) {
      setting(token);
    } else if (token.kind != StateKind::text) {
      reader_.refuse(token.at, std::string(token.name) + " that is no text", "a text");
    } else if (token.name == "title") {
      preset_.title = token.text;
    } else if (token.name == "about") {
      preset_.about = token.text;
    } else if (token.name == "idiom") {
      idiom(token);
    } else {
      reader_.refuse(token.at, std::string(token.name), "title, about, idiom or [settings]");
    }
  }

  void idiom(const StateToken& token) {
    for (const auto& shipped : shippedIdioms()) {
      if (token.text != shipped.id) continue;
      idiom_ = true;
      preset_.state.values[index(parameter(ParameterId::idiom))] = static_cast<double>(shipped.slot);
      return;
    }
    reader_.refuse(token.at, token.text, "the id of a shipped idiom");
  }

  void setting(const StateToken& token) {
    for (const auto& row : parameterTable()) {
      if (token.name != row.id || row.kind == ParameterKind::slot || row.which == ParameterId::bypass) continue;
      std::optional<double> value;
      if (token.kind == StateKind::text) value = valueOf(row, token.text);
      if (token.kind == StateKind::truth && row.kind == ParameterKind::onOff) value = token.truth ? 1 : 0;
      const bool number = row.kind == ParameterKind::number || row.kind == ParameterKind::ratio;
      if (token.kind == StateKind::number && number) value = token.number;
      if (!value || allowed(row, *value) != *value) break;
      preset_.state.values[index(row)] = *value;
      return;
    }
    reader_.refuse(token.at, std::string(token.name) + " with this value",
                   "a parameter's id and a value that it takes");
  }

  std::filesystem::path path_;
  StateReader reader_;
  Preset preset_;
  bool settings_ = false, idiom_ = false;
};

/// A preset says nothing of pedals and keys that give signals: those are the player's, not the preset's.
std::string withoutSignals(std::string state) {
  const auto from = state.find("[signals]\n");
  const auto to = state.find("[end]", from);
  return from == std::string::npos || to == std::string::npos ? state : state.erase(from, to - from);
}

std::string json(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) >= 0x20) {
      out += c;
    } else {
      char escaped[8];
      std::snprintf(escaped, sizeof escaped, "\\u%04x", static_cast<unsigned>(static_cast<unsigned char>(c)));
      out += escaped;
    }
  }
  return out + '"';
}

const char* kindName(ParameterKind kind) {
  switch (kind) {
    case ParameterKind::slot:
      return "slot";
    case ParameterKind::choice:
      return "choice";
    case ParameterKind::onOff:
      return "on-off";
    case ParameterKind::number:
      return "number";
    case ParameterKind::ratio:
      return "ratio";
    case ParameterKind::key:
      return "key";
  }
  return "";
}

}  // namespace

int main(int count, char** arguments) {
  std::vector<Preset> presets;
  bool good = true;
  for (int i = 1; i < count; ++i) {
    std::ifstream file(arguments[i], std::ios::binary);
    const std::string text((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    if (auto preset = PresetReader(arguments[i], text).read())
      presets.push_back(*preset);
    else
      good = false;
  }
  if (!good) return 1;

  std::cout << "{\"parameters\": [";
  const char* comma = "\n";
  for (const auto& row : parameterTable()) {
    std::cout << comma << "  {\"id\": " << json(row.id) << ", \"name\": " << json(row.name)
              << ", \"unit\": " << json(row.unit) << ", \"kind\": " << json(kindName(row.kind))
              << ", \"low\": " << row.low << ", \"high\": " << row.high << ", \"step\": " << row.step
              << ", \"standard\": " << row.standard << ", \"about\": " << json(row.about) << "}";
    comma = ",\n";
  }
  std::cout << "\n], \"presets\": [";
  comma = "\n";
  for (const auto& preset : presets) {
    std::cout << comma << "  {\"id\": " << json(preset.id) << ", \"title\": " << json(preset.title)
              << ", \"about\": " << json(preset.about)
              << ", \"state\": " << json(withoutSignals(writeState(preset.state))) << "}";
    comma = ",\n";
  }
  std::cout << "\n]}\n";
  return std::cout.good() ? 0 : 1;
}
