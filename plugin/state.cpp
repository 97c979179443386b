#include "plugin/state.h"

#include <algorithm>
#include <bitset>
#include <cmath>

#include "plugin/plain_text.h"
#include "plugin/state_text.h"

namespace seguente {
namespace {

// More than 128 pattern files of the largest size, escapes included; more is no session.
constexpr std::size_t largestState = std::size_t{64} << 20;

}  // namespace

std::string stateValue(const Parameter& row, double value) {
  const double plain = allowed(row, value);
  const auto whole = static_cast<std::int64_t>(plain);
  switch (row.kind) {
    case ParameterKind::slot:
      return std::to_string(whole);
    case ParameterKind::onOff:
      return whole != 0 ? "true" : "false";
    case ParameterKind::choice:
    case ParameterKind::key:
      return '"' + textOf(row, plain) + '"';
    case ParameterKind::ratio:
      return plain <= row.low ? "\"as written\"" : decimalText(std::llround(plain * 100), 100);
    case ParameterKind::number:
      break;
  }
  const int perUnit = row.step < 1 ? 10 : 1;
  return decimalText(std::llround(plain * perUnit), perUnit);
}

namespace {

std::string heading(const StateToken& token) {
  const std::string name(token.name);
  if (token.item == StateItem::section) return "[" + name + "]";
  return token.item == StateItem::listed ? "[[" + name + "]]" : name;
}

/// Gives each thing that is read its meaning.
class Reading {
 public:
  explicit Reading(std::string_view text) : reader_(text) {
    state_.saysGivers = false;
    for (const auto& row : parameterTable()) state_.values[static_cast<std::size_t>(row.which)] = row.standard;
  }

  StateResult result() {
    const bool known = version();
    while (known && !ended_ && !reader_.fault()) {
      if (const auto token = reader_.next())
        take(*token);
      else
        reader_.refuse(reader_.at(), "the end of the text", "[end] as the last line: it is cut off");
    }
    StateResult result;
    if (reader_.fault())
      result.fault = reader_.fault()->text();
    else
      result.state = std::move(state_);
    return result;
  }

 private:
  enum class Section : std::uint8_t { top, parameters, signals, order, idioms, unknown };

  bool version() {
    const std::string expected = "version = " + std::to_string(stateVersion) + " before everything else";
    const auto token = reader_.next();
    if (!token) {
      reader_.refuse(0, "nothing", expected);  // does not count where the reader has a fault of its own
    } else if (token->item != StateItem::value || token->name != "version") {
      reader_.refuse(token->at, heading(*token), expected);
    } else if (token->kind != StateKind::number || !(token->number >= 1) ||
               std::floor(token->number) != token->number) {
      reader_.refuse(token->at, "a version that is none", expected);
    } else if (token->number > stateVersion) {
      reader_.refuse(token->at, "a session of a later version of Seguente", expected);
    } else {
      return true;
    }
    return false;
  }

  void take(const StateToken& token) {
    if (token.item != StateItem::value) return begin(token);
    switch (section_) {
      case Section::parameters:
        return parameterValue(token);
      case Section::signals:
        return giver(token);
      case Section::order:
        return orderValue(token);
      case Section::idioms:
        return idiomValue(token);
      case Section::top:
      case Section::unknown:
        return;
    }
  }

  void begin(const StateToken& token) {
    closeIdiom();
    if (reader_.fault()) return;
    const bool listed = token.item == StateItem::listed;
    ended_ = token.name == "end" && !listed;
    section_ = Section::unknown;
    if (token.name == "parameters" && !listed) section_ = Section::parameters;
    if (token.name == "signals" && !listed) {
      section_ = Section::signals;
      state_.saysGivers = true;
    }
    if (token.name == "order" && !listed) {
      if (state_.order) return reader_.refuse(token.at, "a second [order]", "each section once");
      section_ = Section::order;
      state_.order.emplace();
    }
    if (token.name != "idioms") return;
    if (!listed) return reader_.refuse(token.at, "[idioms]", "[[idioms]]");
    section_ = Section::idioms;
    idiomAt_ = token.at;
    idiom_ = SavedSlot{-1, {}, {}};
    hasText_ = false;
  }

  /// A number out of range means the nearest, what means nothing (NaN, a word of a later version) the default.
  void parameterValue(const StateToken& token) {
    for (const auto& row : parameterTable()) {
      if (token.name != row.id) continue;
      const auto i = static_cast<std::size_t>(row.which);
      if (seenValue_[i]) return reader_.refuse(token.at, "a second " + std::string(row.id), "each key once");
      seenValue_.set(i);
      std::optional<double> value;
      if (token.kind == StateKind::number) value = allowed(row, token.number);
      if (token.kind == StateKind::truth && row.kind == ParameterKind::onOff) value = token.truth ? 1 : 0;
      if (token.kind == StateKind::text && row.kind != ParameterKind::slot) value = valueOf(row, token.text);
      state_.values[i] = value.value_or(row.standard);
    }
  }

  void giver(const StateToken& token) {
    for (std::size_t i = 0; i < signalCount; ++i) {
      if (token.name != idOf(static_cast<Signal>(i))) continue;
      if (seenGiver_[i]) return reader_.refuse(token.at, "a second " + std::string(token.name), "each key once");
      seenGiver_.set(i);
      if (token.kind == StateKind::text) state_.givers[i] = giverFrom(token.text).value_or(Giver{});
    }
  }

  /// A place that is none means the first.
  void orderValue(const StateToken& token) {
    auto& order = *state_.order;
    if (token.kind == StateKind::text && token.name == "name") order.name = token.text;
    if (token.kind == StateKind::text && token.name == "text") order.text = token.text;
    const bool place = token.name == "place" && token.kind == StateKind::number && token.number >= 0 &&
                       token.number < static_cast<double>(mostPresets);
    if (place) order.place = static_cast<int>(token.number);
  }

  void idiomValue(const StateToken& token) {
    if (token.name == "slot") return slot(token);
    if (token.name != "id" && token.name != "text") return;
    if (token.kind != StateKind::text)
      return reader_.refuse(token.at, std::string(token.name) + " that is no text", "a text between quotation marks");
    (token.name == "id" ? idiom_.id : idiom_.text) = token.text;
    hasText_ = hasText_ || token.name == "text";
  }

  void slot(const StateToken& token) {
    const bool number = token.kind == StateKind::number && token.number >= 0 && token.number < slotCount;
    if (!number || std::floor(token.number) != token.number)
      return reader_.refuse(token.at, "a slot that is none", "slot = 0 to " + std::to_string(slotCount - 1));
    const auto slot = static_cast<std::size_t>(token.number);
    if (idiom_.slot >= 0 || seenSlot_[slot])
      return reader_.refuse(token.at, "slot " + std::to_string(slot) + " a second time", "each slot once");
    seenSlot_.set(slot);
    idiom_.slot = static_cast<int>(slot);
  }

  void closeIdiom() {
    if (section_ != Section::idioms) return;
    if (idiom_.slot < 0 || !hasText_)
      return reader_.refuse(idiomAt_, "an idiom without " + std::string(hasText_ ? "slot" : "text"),
                            "slot, id and text of each idiom");
    state_.slots.push_back(std::move(idiom_));
    section_ = Section::unknown;
  }

  StateReader reader_;
  SavedState state_;
  Section section_ = Section::top;
  SavedSlot idiom_;
  std::size_t idiomAt_ = 0;
  bool hasText_ = false;
  bool ended_ = false;
  std::bitset<parameterCount> seenValue_;
  std::bitset<signalCount> seenGiver_;
  std::bitset<slotCount> seenSlot_;
};

}  // namespace

std::string writeState(const SavedState& state) {
  std::string text = "# A session of Seguente. Slots count from 0.\nversion = " + std::to_string(stateVersion) + "\n";
  text += "\n[parameters]\n";
  for (const auto& row : parameterTable())
    text += std::string(row.id) + " = " + stateValue(row, state.values[static_cast<std::size_t>(row.which)]) + "\n";
  text += "\n[signals]\n";
  for (std::size_t i = 0; i < signalCount; ++i)
    text += std::string(idOf(static_cast<Signal>(i))) + " = \"" + textOf(state.givers[i]) + "\"\n";
  if (state.order)
    text += "\n[order]\nname = " + stateWord(state.order->name) + "\nplace = " + std::to_string(state.order->place) +
            "\ntext = " + stateText(state.order->text) + "\n";
  auto slots = std::vector<const SavedSlot*>();
  for (const auto& slot : state.slots) slots.push_back(&slot);
  std::stable_sort(slots.begin(), slots.end(), [](auto* a, auto* b) { return a->slot < b->slot; });
  for (const auto* slot : slots)
    text += "\n[[idioms]]\nslot = " + std::to_string(slot->slot) + "\nid = " + stateWord(slot->id) +
            "\ntext = " + stateText(slot->text) + "\n";
  return text + "\n[end]\n";
}

StateResult readState(std::string_view text) {
  if (text.size() <= largestState) return Reading(text).result();
  StateResult result;
  result.fault = Fault{"session", 1, 1, std::to_string(text.size()) + " bytes",
                       "at most " + std::to_string(largestState) + " bytes"}
                     .text();
  return result;
}

}  // namespace seguente
