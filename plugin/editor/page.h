// The whole screen at 100 %: running head, one of seven views, the row of fields and signals, keyboard, footnote.
#pragma once

#include <deque>
#include <optional>

#include "plugin/dropped_file.h"
#include "plugin/editor/desk_page.h"
#include "plugin/editor/footnote.h"
#include "plugin/editor/keyboard_view.h"
#include "plugin/editor/order_list.h"
#include "plugin/editor/question.h"
#include "plugin/editor/settings_page.h"
#include "plugin/editor/signal_row.h"
#include "plugin/editor/stand_page.h"

namespace seguente::screen {

inline constexpr int smallestWidth = 640, smallestHeight = 400;

enum class Opened : std::uint8_t { contents, desk, stand, order, settings, help, messages };
inline constexpr std::size_t views = 7;

class Page final : public juce::Component {
 public:
  Page(Look& look, Processor& processor);
  std::function<void(bool)> chooseDark;
  std::function<void(int)> chooseSize;
  std::function<void(bool)> chooseReducedMotion;
  void showWindow(bool dark, int percent, bool reducedMotion);

  void open(Opened view);
  /// Files that were dropped on the window, one after another: pattern files and running orders. A name that is taken
  /// asks.
  void take(const juce::StringArray& paths);
  Opened opened() const { return opened_; }
  /// Reads what sounds and what is set, and repaints what has changed since. Thirty times a second.
  void refresh();
  /// The palette has changed.
  void recolour();

  // For whoever stands around it (the standalone); a plugin leaves these as they are.
  /// What is said in the running head: take, inputs. Empty: what the idiom is and how dense.
  void setStatus(const juce::String& status);
  /// The title over the page.
  void setPiece(const juce::String& piece);
  /// Letters of the computer's keyboard give signals wherever the focus is; else only on the keyboard.
  void setLetters(bool on);
  /// A message from outside: the footnote, and the stand for a while.
  void say(const juce::String& message);
  /// A row over that of the fields, on every view but the stand. Lent.
  void setOwnRow(juce::Component& row);
  /// Rows under the settings. Lent.
  void setOwnSettings(juce::Component& rows, std::function<int(int)> heightFor);
  /// One more paragraph of help.
  void addHelp(const juce::String& paragraph) { showHelp(paragraph); }
  /// An element of such a row speaks in the footnote, as all others do.
  void attach(Element& element) {
    element.pointed = [this](const Element* at) { point(at); };
  }
  KeyboardView& keyboard() { return keyboard_; }
  DeskPage& desk() { return desk_; }
  ContentsPage& contents() { return contents_; }
  /// Letters are words now, not signals or notes.
  bool typing() const { return contents_.typing() || desk_.typing(); }
  OrderList& order() { return order_; }

  void resized() override;
  void paint(juce::Graphics& g) override;
  bool keyPressed(const juce::KeyPress& key) override;
  /// Every element of the page, whether its view is open or not.
  template <class Visit>
  void forEach(Visit&& visit) {
    visit(head_);
    visit(views_);
    contents_.forEach(visit);
    desk_.forEach(visit);
    stand_.forEach(visit);
    visit(order_);
    settings_.forEach(visit);
    visit(help_);
    visit(messages_);
    play_.forEach(visit);
    visit(keyboard_);
    visit(footnote_);
    visit(legend_);
    visit(question_);
  }

 private:
  /// The name, and what is going on.
  class Head final : public Element {
   public:
    explicit Head(const Look& look) : Element(look, {}, juce::AccessibilityRole::staticText) {}
    void refresh(Processor& processor, const juce::String& status);
    std::vector<PlacedText> texts() const override;

   private:
    juce::String title_, comment_;
  };
  void point(const Element* element);
  void readMessages();
  void takeWaiting();
  bool keep(const Dropped& dropped, const std::string& name);
  void placeFoot();
  juce::Component& viewOf(Opened view);
  bool giveByLetter(juce::juce_wchar letter);
  bool folds() const { return DeskPage::folds(getWidth() - 2 * 16); }
  void showLetters();
  void showHelp(const juce::String& more);

  Look& look_;
  Processor& processor_;
  Head head_;
  WordChoice views_;
  ContentsPage contents_;
  DeskPage desk_;
  StandPage stand_;
  OrderList order_;
  Scroll orderScroll_;
  SettingsPage settings_;
  Scroll settingsScroll_, helpScroll_, messagesScroll_;
  TextPage help_, messages_;
  PlayRow play_;
  KeyboardView keyboard_;
  Footnote footnote_;
  Legend legend_;
  Question question_;
  std::deque<Dropped> waiting_;  // to be taken once the question is answered

  Opened opened_ = Opened::desk;
  View view_;
  juce::String status_;
  std::uint32_t valuesSeen_ = 0;
  std::uint32_t shelfSeen_ = 0;
  std::optional<std::uint32_t> messagesSeen_;
  std::uint64_t lostSeen_ = 0;
  int standFor_ = 0;  // refreshes that the stand still shows a message
  bool letters_ = false;
  juce::Component* ownRow_ = nullptr;
};

}  // namespace seguente::screen
