#include "plugin/running_order.h"

#include <algorithm>
#include <cmath>

#include "dsp/limits.h"
#include "plugin/plain_text.h"
#include "plugin/state.h"
#include "plugin/state_text.h"

namespace seguente {
namespace {

constexpr std::size_t longestLine = 120;  // bytes of a title, an id or an about: they are shown in one line
constexpr const char* rowsOfPreset = "title, about, idiom, or a setting by its id";

std::string quoted(const StateToken& token) {
  switch (token.kind) {
    case StateKind::text:
      return '"' + token.text + '"';
    case StateKind::truth:
      return token.truth ? "true" : "false";
    case StateKind::number:
      break;
  }
  if (!std::isfinite(token.number) || std::abs(token.number) > 1e6) return "a number that is none";
  const bool whole = std::floor(token.number) == token.number;
  return whole ? std::to_string(std::llround(token.number)) : decimalText(std::llround(token.number * 100), 100);
}

/// What a row takes, as words for somebody who has typed something else.
std::string wanted(const Parameter& row) {
  const auto range = [&](const std::string& unit) {
    return textOf(row, row.low) + " to " + textOf(row, row.high) + unit;
  };
  switch (row.kind) {
    case ParameterKind::choice: {
      std::string all;
      for (const auto* word : row.words) all += (all.empty() ? "\"" : ", \"") + std::string(word) + '"';
      return all;
    }
    case ParameterKind::onOff:
      return "true or false";
    case ParameterKind::key:
      return "a key as text, \"C4\"";
    case ParameterKind::ratio:
      return "long : short, 1 to 3, or \"as written\"";
    case ParameterKind::number:
    case ParameterKind::slot:
      break;
  }
  return range(*row.unit != 0 ? std::string(" ") + row.unit : std::string());
}

/// What the token says of this row; empty when it says nothing that the row takes.
std::optional<double> valueFor(const Parameter& row, const StateToken& token) {
  std::optional<double> value;
  if (token.kind == StateKind::text && row.kind != ParameterKind::number) value = valueOf(row, token.text);
  if (token.kind == StateKind::truth && row.kind == ParameterKind::onOff) value = token.truth ? 1 : 0;
  const bool number = row.kind == ParameterKind::number || row.kind == ParameterKind::ratio;
  if (token.kind == StateKind::number && number && std::isfinite(token.number)) {
    if (allowed(row, token.number) != token.number) return {};
    value = token.number;
  }
  return value;
}

const Parameter* rowOf(std::string_view id) {
  for (const auto& row : parameterTable())
    if (id == row.id && row.which != ParameterId::idiom && row.which != ParameterId::bypass) return &row;
  return nullptr;
}

class Reading {
 public:
  Reading(std::string_view text, const std::string& file) : text_(text), file_(file), reader_(text) {}

  OrderResult result() {
    if (text_.size() > limits::fileBytes) {
      fault(0, std::to_string(text_.size()) + " bytes", "at most " + std::to_string(limits::fileBytes));
    } else {
      while (const auto token = reader_.next()) take(*token);
      close();
      if (reader_.fault()) add(*reader_.fault());
      if (!reader_.fault()) finish();
    }
    OrderResult result{std::nullopt, std::move(faults_)};
    if (result.faults.empty()) result.order = std::move(order_);
    return result;
  }

 private:
  enum class Section : std::uint8_t { head, settings, preset, unknown };

  void add(Fault fault) {
    fault.file = file_;
    faults_.push_back(std::move(fault));
  }
  void fault(std::size_t at, std::string found, std::string expected) {
    StateReader place(text_);
    place.refuse(at, std::move(found), std::move(expected));
    add(*place.fault());
  }
  int lineOf(std::size_t at) const {
    return 1 + static_cast<int>(std::count(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
  }

  void take(const StateToken& token) {
    if (token.item != StateItem::value) return begin(token);
    if (section_ == Section::unknown) return;  // told
    const auto name = std::string(token.name);
    if (std::find(seen_.begin(), seen_.end(), name) != seen_.end())
      return fault(token.at, "a second " + name, "each key once");
    seen_.push_back(name);
    if (section_ == Section::head && name == "format") return format(token);
    if (section_ == Section::preset && name == "idiom") return line(token, preset_->idiom);
    if (section_ != Section::settings && name == "title")
      return line(token, section_ == Section::head ? order_.title : preset_->title);
    if (section_ != Section::settings && name == "about")
      return line(token, section_ == Section::head ? order_.about : preset_->about);
    if (section_ == Section::head)
      return fault(token.at, name, "format, title or about; then [settings] or [[presets]]");
    setting(token, section_ == Section::settings ? order_.settings : preset_->settings);
  }

  void begin(const StateToken& token) {
    close();
    seen_.clear();
    const bool listed = token.item == StateItem::listed;
    section_ = Section::unknown;
    if (token.name == "settings" && !listed) {
      if (settingsSeen_ || !order_.presets.empty())
        return fault(token.at, "[settings] " + std::string(settingsSeen_ ? "a second time" : "after a preset"),
                     "[settings] once, before the first [[presets]]");
      settingsSeen_ = true;
      section_ = Section::settings;
    } else if (token.name == "presets" && listed) {
      section_ = Section::preset;
      preset_.emplace();
      preset_->line = lineOf(token.at);
      presetAt_ = token.at;
    } else {
      fault(token.at, listed ? "[[" + std::string(token.name) + "]]" : "[" + std::string(token.name) + "]",
            "[settings] or [[presets]]");
    }
  }

  void format(const StateToken& token) {
    formatSeen_ = true;
    if (token.kind != StateKind::number || token.number != 1) fault(token.at, "format " + quoted(token), "format = 1");
  }

  void line(const StateToken& token, std::string& into) {
    const bool text = token.kind == StateKind::text;
    const auto plain = text ? trimmed(token.text) : std::string_view{};
    const bool controls =
        std::any_of(plain.begin(), plain.end(), [](char c) { return static_cast<unsigned char>(c) < 32; });
    if (!text || plain.empty() || controls)
      return fault(token.at, std::string(token.name) + " = " + (controls ? "several lines" : quoted(token)),
                   "a text in quotation marks, one line");
    if (plain.size() > longestLine)
      return fault(token.at, std::to_string(plain.size()) + " letters", "at most " + std::to_string(longestLine));
    into = plain;
  }

  void setting(const StateToken& token, NamedSettings& into) {
    const auto* row = rowOf(token.name);
    if (row == nullptr)
      return fault(token.at, std::string(token.name),
                   section_ == Section::preset ? rowsOfPreset : "a setting by its id");
    const auto value = valueFor(*row, token);
    if (!value) return fault(token.at, std::string(token.name) + " = " + quoted(token), wanted(*row));
    into[static_cast<std::size_t>(row->which)] = value;
  }

  void close() {
    if (!preset_) return;
    const bool hasTitle = seen("title"), hasIdiom = seen("idiom");
    if (!hasTitle || !hasIdiom)
      fault(presetAt_, std::string("a preset without ") + (hasTitle ? "idiom" : "title"),
            "title and idiom of each preset");
    order_.presets.push_back(std::move(*preset_));
    preset_.reset();
  }
  bool seen(std::string_view key) const { return std::find(seen_.begin(), seen_.end(), key) != seen_.end(); }

  void finish() {
    if (!formatSeen_) fault(0, "no format", "format = 1 at the beginning");
    if (order_.title.empty() && faults_.empty()) fault(0, "no title", "title = \"...\" before the first preset");
    if (order_.presets.empty()) fault(text_.size(), "the end of the file", "a [[presets]] before it");
    if (order_.presets.size() > mostPresets)
      fault(text_.size(), std::to_string(order_.presets.size()) + " presets", "at most " + std::to_string(mostPresets));
  }

  std::string_view text_;
  std::string file_;
  StateReader reader_;
  RunningOrder order_;
  std::vector<Fault> faults_;
  Section section_ = Section::head;
  std::optional<OrderPreset> preset_;  // which is being read
  std::size_t presetAt_ = 0;
  std::vector<std::string> seen_;  // keys of this section
  bool formatSeen_ = false, settingsSeen_ = false;
};

}  // namespace

bool RunningOrder::names(ParameterId which) const {
  const auto i = static_cast<std::size_t>(which);
  return settings[i] || std::any_of(presets.begin(), presets.end(),
                                    [i](const auto& preset) { return preset.settings[i].has_value(); });
}

double RunningOrder::valueIn(std::size_t preset, ParameterId which) const {
  const auto i = static_cast<std::size_t>(which);
  if (const auto& own = presets[preset].settings[i]) return *own;
  return settings[i].value_or(parameter(which).standard);
}

OrderResult readOrder(std::string_view text, const std::string& file) { return Reading(text, file).result(); }

bool ofThePiece(ParameterId which) noexcept {
  switch (which) {
    case ParameterId::density:
    case ParameterId::swing:
    case ParameterId::registerShift:
    case ParameterId::keep:
    case ParameterId::bass:
    case ParameterId::chords:
    case ParameterId::counterLine:
    case ParameterId::percussion:
    case ParameterId::transpose:
    case ParameterId::ownTempo:
    case ParameterId::waitForChord:
      return true;
    default:
      return false;
  }
}

std::string presetText(const std::string& title, const std::string& idiom, const ParameterValues& values,
                       const RunningOrder* order) {
  std::string text = "\n[[presets]]\ntitle = " + stateWord(title) + "\nidiom = " + stateWord(idiom) + "\n";
  for (const auto& row : parameterTable()) {
    if (!ofThePiece(row.which)) continue;
    const double value = allowed(row, values.get(row.which));
    const bool named = order != nullptr && order->names(row.which);
    if (named || value != row.standard) text += std::string(row.id) + " = " + stateValue(row, value) + "\n";
  }
  return text;
}

std::string orderHead(const std::string& title) { return "format = 1\ntitle = " + stateWord(title) + "\n"; }

}  // namespace seguente
