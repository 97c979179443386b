// The small part of TOML in which a session is kept: sections, and keys with a text, a number or a truth. Reads one
// thing after the other and builds no tree, so that any rubbish is refused in the time that it takes to look at it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "dsp/idiom_file.h"

namespace seguente {

enum class StateItem : std::uint8_t { section, listed, value };  // [name], [[name]], key = value
enum class StateKind : std::uint8_t { text, number, truth };

/// One thing that stands in the text, and where. [message]
struct StateToken {
  StateItem item = StateItem::value;
  std::string_view name;  // of the section or the key
  StateKind kind = StateKind::text;
  std::string text;
  double number = 0;  // may be NaN or infinite: TOML has them
  bool truth = false;
  std::size_t at = 0;  // byte at which it begins
};

/// errors: next() gives nothing at the end and at a fault; then fault() says which. Never throws. [message]
class StateReader {
 public:
  explicit StateReader(std::string_view text);
  std::optional<StateToken> next();
  const std::optional<Fault>& fault() const { return fault_; }
  std::size_t at() const { return at_; }  // the byte that would be read next
  /// What the reader of the meaning finds wrong at a token. Ends the reading.
  void refuse(std::size_t at, std::string found, std::string expected);

 private:
  char peek(std::size_t ahead = 0) const { return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0'; }
  bool done() const { return at_ >= text_.size(); }
  void blanks();
  bool lineEnd();
  bool emptyLines();
  std::string_view word(bool dots);
  bool section(StateToken& token);
  bool value(StateToken& token);
  bool quoted(StateToken& token, char quote);
  bool severalLines(StateToken& token, char quote);
  bool escape(std::string& into);
  bool plain(StateToken& token);
  bool no(std::string expected);

  std::string_view text_;
  std::size_t at_ = 0;
  std::optional<Fault> fault_;
};

/// A text as TOML: over several lines as it is where that can be, else with escapes. Read back it is the same, whatever
/// its bytes. [message]
std::string stateText(std::string_view text);
/// The same in one line.
std::string stateWord(std::string_view text);

}  // namespace seguente
