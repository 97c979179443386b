// Numbers and keys as people write them, the same in every locale.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "dsp/pitch.h"

namespace seguente {

/// Without blanks at both ends. [any]
std::string_view trimmed(std::string_view text);
/// Small letters (ASCII alone), blanks at both ends gone, hyphens as blanks. [message]
std::string plainWord(std::string_view text);

/// "12", "-3", "+1.5", "0,25": the whole text, at most nine digits before and after the point. errors: empty. [message]
std::optional<double> decimalFrom(std::string_view text);
/// value in units of 1 / perUnit, e.g. 165 with perUnit 100 is "1.65"; perUnit is 1, 10 or 100. [message]
std::string decimalText(std::int64_t value, int perUnit);

/// "C4" is the middle one; "C#4", "Db4", "c-1", "60". errors: empty. [message]
std::optional<NoteNumber> keyFrom(std::string_view text);
std::string keyText(NoteNumber key);  // with sharps

}  // namespace seguente
