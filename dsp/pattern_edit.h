// Changes a pattern file's text step by step, as a hand would: only the words that change are written anew, every
// remark and blank stays. Each change is compiled before it counts; a faulty one is refused and nothing has happened.
// Off the audio thread only.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom.h"

namespace seguente {

/// A step as its row says it; at: from the figure's start. [message]
struct WrittenStep {
  Ticks at{}, length{};
  std::string part, play;
  int stress = 0;
  friend bool operator==(const WrittenStep&, const WrittenStep&) = default;
};

/// Which figure: never the short forms. [message]
struct FigureName {
  Density density = Density::medium;
  FigureKind figure = FigureKind::statement;
  friend bool operator==(const FigureName&, const FigureName&) = default;
};

class PatternEdit {
 public:
  /// text: of a pattern file that is good.
  explicit PatternEdit(std::string text);
  const std::string& text() const { return history_[now_]; }
  const Idiom& idiom() const { return *idiom_; }
  /// False when the text is no good: nothing can be edited then.
  bool good() const { return idiom_ != nullptr; }
  /// Why the last change was refused; empty when it was made.
  const std::string& fault() const { return fault_; }

  /// The density whose figures sound when this one is asked for: itself if it is written, else whose it borrows.
  Density written(Density asked) const;
  /// In the order of the file: a row's place here is NoteReason::row. Empty when the file has no such figure.
  std::vector<WrittenStep> steps(FigureName figure) const;
  Ticks lengthOf(FigureName figure) const;

  /// The row is to say this. errors: false, with fault(); nothing has changed.
  bool change(FigureName figure, std::size_t row, const WrittenStep& to);
  /// A row more, on a line behind this one.
  bool add(FigureName figure, std::size_t behind, const WrittenStep& step);
  bool remove(FigureName figure, std::size_t row);

  bool canUndo() const { return now_ > 0; }
  bool canRedo() const { return now_ + 1 < history_.size(); }
  bool undo();
  bool redo();

 private:
  bool offer(std::optional<std::string> text);
  void go(std::size_t state);
  std::vector<std::string> history_;
  std::size_t now_ = 0;
  std::unique_ptr<Idiom> idiom_;
  std::string fault_;
};

/// What a step of this part may play, from low to high, as arrows go through it: degrees, or as held where it is. A
/// text that is not among them comes before the first. [message]
std::string nextPlay(std::string_view play, PartKind kind, int way);

/// The same file under another id and title; errors: nullopt when it has no such rows. [message]
std::optional<std::string> renamedPattern(std::string_view text, std::string_view id, std::string_view title);

}  // namespace seguente
