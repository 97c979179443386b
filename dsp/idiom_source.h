// A pattern file's text as a tree of plain values that know their place. Only idiom_file.cpp sees the TOML library;
// whatever checks and compiles sees this. [message]
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom_file.h"

namespace seguente {

/// Where something stands in a file, both counted from 1. [any]
struct Place {
  int line = 1;
  int column = 1;
};

enum class SourceKind : std::uint8_t { text, integer, decimal, truth, list, table, other };

struct SourceMember;

/// One value of the file. Only the field that `kind` names is filled. [message]
struct SourceValue {
  SourceKind kind = SourceKind::other;
  Place place;
  std::string text;
  std::int64_t integer = 0;
  double decimal = 0;
  bool truth = false;
  std::vector<SourceValue> list;
  std::vector<SourceMember> table;  // in the order of the file

  const SourceMember* member(std::string_view key) const;
};

/// One key of a table and what stands behind it. [message]
struct SourceMember {
  std::string key;
  Place place;  // of the key
  SourceValue value;
};

/// Reads TOML. errors: nullopt, and one Fault (a syntax error ends the reading). Never throws. [message]
std::optional<SourceValue> parseSource(std::string_view text, std::string_view name, std::vector<Fault>& faults);

/// The same tree, without places, for a file that is plainly written; nullopt for any other, good or not. [message]
std::optional<SourceValue> readPlain(std::string_view text);

}  // namespace seguente
