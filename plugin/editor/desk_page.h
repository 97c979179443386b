// The open book: the shelf on the left page, what is heard and how it is played on the right.
#pragma once

#include <memory>
#include <vector>

#include "plugin/editor/chord_view.h"
#include "plugin/editor/parameter_control.h"
#include "plugin/editor/shelf_list.h"
#include "plugin/editor/time_view.h"

namespace seguente::screen {

class DeskPage final : public juce::Component {
 public:
  DeskPage(const Look& look, Processor& processor);
  void refresh(const View& view);
  /// Values have changed. Looked at only then.
  void refreshValues();
  void resized() override;
  void paint(juce::Graphics& g) override;
  void recolour() { scroll_.recolour(); }
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(heading_);
    visit(shelf_);
    visit(time_);
    visit(chord_);
    for (auto& field : fields_) visit(*field);
  }

 private:
  class Heading final : public Element {
   public:
    explicit Heading(const Look& look);
    std::vector<PlacedText> texts() const override;
  };

  const Look& look_;
  Processor& processor_;
  Heading heading_;
  Scroll scroll_;
  ShelfList shelf_;
  TimeView time_;
  ChordView chord_;
  std::vector<std::unique_ptr<ParameterControl>> fields_;
};

}  // namespace seguente::screen
