// The idioms that are in the binary, in the slots that patterns/slots.txt gives them. The source is made by
// shipped_idioms.cmake: texts alone, nothing is compiled or allocated before it is asked for.
#pragma once

#include <cstddef>
#include <span>
#include <string_view>

namespace seguente {

struct ShippedIdiom {
  std::size_t slot;
  const char* id;
  const char* title;
  std::string_view text;  // the whole pattern file
};

/// By slot, ascending. [any]
std::span<const ShippedIdiom> shippedIdioms() noexcept;

}  // namespace seguente
