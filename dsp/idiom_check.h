// Reads typed values out of a source tree and notes a Fault, with its place, for whatever is not as it should be.
#pragma once

#include <algorithm>
#include <cstdio>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom_source.h"
#include "dsp/idiom_steps.h"
#include "dsp/time.h"

namespace seguente {

/// A fraction of beats and where it stands. [message]
struct PlacedFraction {
  Fraction fraction;
  Place place;
};

/// The faults of one file, and how they are found. Every getter returns nullopt after it has noted a fault. [message]
class Checker {
 public:
  Checker(std::string_view file, std::vector<Fault>& faults) : file_(file), faults_(faults) {}

  void fault(Place place, std::string found, std::string expected);
  bool any() const { return !faults_.empty(); }

  /// Notes every key of a table that is not in the list, and offers the nearest that is.
  void onlyKeys(const SourceValue& table, std::span<const std::string_view> keys);
  /// The value behind a key; a missing one is a fault at the table's place.
  const SourceValue* required(const SourceValue& table, std::string_view key, std::string_view expected);

  bool isTable(const SourceValue& value, std::string_view expected);
  bool isList(const SourceValue& value, std::string_view expected);
  std::optional<std::string> text(const SourceValue& value, std::string_view expected, std::size_t longest);
  std::optional<std::int64_t> integer(const SourceValue& value, std::int64_t low, std::int64_t high,
                                      std::string_view unit);
  std::optional<double> number(const SourceValue& value, double low, double high, std::string_view unit);
  std::optional<bool> truth(const SourceValue& value);
  /// An integer, or a text such as "5/2" or "2 1/2".
  std::optional<PlacedFraction> beats(const SourceValue& value);
  /// So many beats as ticks; a fraction that ticks cannot hold is a fault.
  std::optional<Ticks> ticks(PlacedFraction beats, Ticks beat);

 private:
  std::string file_;
  std::vector<Fault>& faults_;
};

/// A value as a fault names it: text "abc", number 1.5, a list. Shortened, without control characters. [message]
std::string described(const SourceValue& value);
std::string quotedText(std::string_view text);

// ---- How it is done; only idiom_compile.cpp includes this header, so all is inline here.

namespace detail {

inline std::string plainNumber(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

inline std::string listed(std::span<const std::string_view> words) {
  std::string text;
  for (const auto word : words) text += (text.empty() ? "" : ", ") + std::string(word);
  return text;
}

}  // namespace detail

inline std::string quotedText(std::string_view text) {
  constexpr std::size_t longest = 40;  // enough to find it again
  std::string shown(text.substr(0, longest));
  for (auto& c : shown)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
  while (text.size() > longest && !shown.empty() && (static_cast<unsigned char>(shown.back()) & 0x80) != 0)
    shown.pop_back();  // never half a UTF-8 letter
  return "\"" + shown + (text.size() > longest ? "...\"" : "\"");
}

inline std::string described(const SourceValue& value) {
  switch (value.kind) {
    case SourceKind::text:
      return "text " + quotedText(value.text);
    case SourceKind::integer:
      return std::to_string(value.integer);
    case SourceKind::decimal:
      return detail::plainNumber(value.decimal);
    case SourceKind::truth:
      return value.truth ? "true" : "false";
    case SourceKind::list:
      return value.list.empty() ? "an empty list" : "a list";
    case SourceKind::table:
      return "a table";
    case SourceKind::other:
      break;
  }
  return "a date or time";
}

inline void Checker::fault(Place place, std::string found, std::string expected) {
  faults_.push_back({file_, place.line, place.column, std::move(found), std::move(expected)});
}

inline void Checker::onlyKeys(const SourceValue& table, std::span<const std::string_view> keys) {
  for (const auto& member : table.table) {
    if (std::find(keys.begin(), keys.end(), member.key) != keys.end()) continue;
    const auto nearest = nearestWord(member.key, keys);
    fault(member.place, "unknown key " + quotedText(member.key),
          nearest.empty() ? "one of " + detail::listed(keys) : quotedText(nearest));
  }
}

inline const SourceValue* Checker::required(const SourceValue& table, std::string_view key, std::string_view expected) {
  if (const auto* member = table.member(key)) return &member->value;
  fault(table.place, "no key " + quotedText(key), std::string(expected));
  return nullptr;
}

inline bool Checker::isTable(const SourceValue& value, std::string_view expected) {
  if (value.kind == SourceKind::table) return true;
  fault(value.place, described(value), std::string(expected));
  return false;
}

inline bool Checker::isList(const SourceValue& value, std::string_view expected) {
  if (value.kind == SourceKind::list) return true;
  fault(value.place, described(value), std::string(expected));
  return false;
}

inline std::optional<std::string> Checker::text(const SourceValue& value, std::string_view expected,
                                                std::size_t longest) {
  if (value.kind != SourceKind::text || value.text.empty()) {
    fault(value.place, value.kind == SourceKind::text ? "empty text" : described(value), std::string(expected));
    return std::nullopt;
  }
  if (value.text.size() > longest) {
    fault(value.place, "text of " + std::to_string(value.text.size()) + " bytes",
          "at most " + std::to_string(longest) + " bytes");
    return std::nullopt;
  }
  if (std::any_of(value.text.begin(), value.text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; })) {
    fault(value.place, "text of more than one line", std::string(expected) + " in one line");
    return std::nullopt;
  }
  return value.text;
}

inline std::optional<std::int64_t> Checker::integer(const SourceValue& value, std::int64_t low, std::int64_t high,
                                                    std::string_view unit) {
  if (value.kind == SourceKind::integer && value.integer >= low && value.integer <= high) return value.integer;
  fault(value.place, described(value),
        std::string(unit) + ", a whole number from " + std::to_string(low) + " to " + std::to_string(high));
  return std::nullopt;
}

inline std::optional<double> Checker::number(const SourceValue& value, double low, double high, std::string_view unit) {
  const bool whole = value.kind == SourceKind::integer;
  const double found = whole ? static_cast<double>(value.integer) : value.decimal;
  if ((whole || value.kind == SourceKind::decimal) && found >= low && found <= high) return found;  // NaN is neither
  fault(value.place, described(value),
        std::string(unit) + ", a number from " + detail::plainNumber(low) + " to " + detail::plainNumber(high));
  return std::nullopt;
}

inline std::optional<bool> Checker::truth(const SourceValue& value) {
  if (value.kind == SourceKind::truth) return value.truth;
  fault(value.place, described(value), "true or false");
  return std::nullopt;
}

inline std::optional<PlacedFraction> Checker::beats(const SourceValue& value) {
  constexpr std::string_view wanted = "beats as a whole number or an exact fraction such as \"1/2\" or \"2 1/2\"";
  if (value.kind == SourceKind::decimal) {
    fault(value.place, described(value), "an exact fraction, \"" + fractionLike(value.decimal) + "\"");
    return std::nullopt;
  }
  const auto text = value.kind == SourceKind::integer ? std::to_string(value.integer) : value.text;
  const bool readable = value.kind == SourceKind::integer || value.kind == SourceKind::text;
  const auto fraction = readable ? parseFraction(text) : std::nullopt;
  if (!fraction) {
    fault(value.place, described(value), std::string(wanted));
    return std::nullopt;
  }
  return PlacedFraction{*fraction, value.place};
}

inline std::optional<Ticks> Checker::ticks(PlacedFraction beats, Ticks beat) {
  const auto ticks = ticksOf(beats.fraction, beat);
  if (!ticks)
    fault(beats.place, textOf(beats.fraction) + " beats",
          "a fraction that the clock can hold (" + std::to_string(quarter.value) +
              " ticks a quarter: halves, thirds, fifths, sevenths, ninths and their halves)");
  return ticks;
}

}  // namespace seguente
