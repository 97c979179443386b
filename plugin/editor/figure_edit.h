// A figure of the player's own that is edited while it plays: which step is meant, what is done to it, and the file
// that is written anew with each change. No drawing in here.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "dsp/pattern_edit.h"

namespace seguente {
class Processor;
}

namespace seguente::screen {

enum class EditAct : std::uint8_t {
  back,
  on,
  earlier,
  later,
  lower,
  higher,
  shorter,
  longer,
  lighter,
  heavier,
  add,
  remove,
  undo,
  redo,
  grid
};
inline constexpr std::size_t editActs = 15;

/// [message] throughout.
class FigureEdit {
 public:
  explicit FigureEdit(Processor& processor) : processor_(processor) {}

  bool on() const { return edit_.has_value(); }
  /// Of the idiom in force, if it is the player's own. False: it is not (or its file is no good): a copy is to be made.
  bool begin();
  /// Copies the idiom in force under a name of its own, chooses the copy and begins.
  bool beginCopy(const std::string& title);
  void end();
  /// Another idiom or density was chosen, or the file was written by somebody else. True when something is to be shown.
  bool refresh();

  struct Row {
    FigureName figure;
    std::size_t row = 0;
    WrittenStep step;
  };
  /// Statement, answer and lift, each by time.
  const std::vector<Row>& rows() const { return rows_; }
  const Row* chosen() const { return chosen_ < rows_.size() ? &rows_[chosen_] : nullptr; }
  void choose(FigureKind figure, std::size_t row);
  bool does(EditAct act);
  /// The chosen step plays this.
  bool play(const std::string& text);
  Ticks grid() const;
  /// In beats: 1/1, 1/2, 1/3, 1/4.
  int gridPart() const { return gridPart_; }
  Meter meter() const { return edit_->idiom().meter; }
  bool can(EditAct act) const;
  const std::string& fault() const { return fault_; }

 private:
  bool change(const WrittenStep& to);
  bool made(bool good);
  bool save();
  void read();
  void suggestGrid();

  Processor& processor_;
  std::optional<PatternEdit> edit_;
  std::filesystem::path file_;
  int slot_ = -1;
  Density density_{};
  std::vector<Row> rows_;
  std::size_t chosen_ = 0;
  int gridPart_ = 2;
  std::string fault_;
};

}  // namespace seguente::screen
