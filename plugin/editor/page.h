// The whole page at 100 %: running head, one of four views, remark, signals, keyboard, footnote.
#pragma once

#include <optional>

#include "plugin/editor/desk_page.h"
#include "plugin/editor/footnote.h"
#include "plugin/editor/keyboard_view.h"
#include "plugin/editor/settings_page.h"
#include "plugin/editor/signal_row.h"

namespace seguente::screen {

inline constexpr int smallestWidth = 760, smallestHeight = 520;

enum class Opened : std::uint8_t { desk, settings, help, messages };

class Page final : public juce::Component {
 public:
  Page(Look& look, Processor& processor);
  std::function<void(bool)> chooseDark;
  std::function<void(int)> chooseSize;
  void showWindow(bool dark, int percent) { settings_.showWindow(dark, percent); }

  void open(Opened view);
  Opened opened() const { return opened_; }
  /// Reads what sounds and what is set, and repaints what has changed since. Thirty times a second.
  void refresh();
  /// The palette has changed.
  void recolour();

  void resized() override;
  void paint(juce::Graphics& g) override;
  bool keyPressed(const juce::KeyPress& key) override;
  /// Every element of the page, whether its view is open or not.
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(head_);
    visit(views_);
    desk_.forEach(visit);
    settings_.forEach(visit);
    visit(help_);
    visit(messages_);
    visit(remark_);
    signals_.forEach(visit);
    visit(keyboard_);
    visit(footnote_);
    visit(legend_);
  }

 private:
  /// The idiom that plays, and how.
  class Head final : public Element {
   public:
    explicit Head(const Look& look) : Element(look, {}, juce::AccessibilityRole::staticText) {}
    void refresh(Processor& processor);
    std::vector<PlacedText> texts() const override;

   private:
    juce::String title_, comment_;
  };
  void point(const Element* element);
  void readMessages();
  juce::Component& viewOf(Opened view);

  Look& look_;
  Processor& processor_;
  Head head_;
  WordChoice views_;
  DeskPage desk_;
  SettingsPage settings_;
  Scroll settingsScroll_, helpScroll_, messagesScroll_;
  TextPage help_, messages_;
  RemarkLine remark_;
  SignalRow signals_;
  KeyboardView keyboard_;
  Footnote footnote_;
  Legend legend_;

  Opened opened_ = Opened::desk;
  View view_;
  std::uint32_t valuesSeen_ = 0;
  std::uint32_t shelfSeen_ = 0;
  std::optional<std::uint32_t> messagesSeen_;
};

}  // namespace seguente::screen
