#include "plugin/editor/order_list.h"

#include <algorithm>

#include "plugin/editor/strings.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

constexpr int lineHeight = 28, titleHeight = 40, moreHeight = 20;
constexpr int indent = 44, bookmark = 5;
constexpr int widest = 760;
constexpr int detailShare = 3;  // of the width, one part of so many at most

}  // namespace

OrderList::OrderList(const Look& look, Processor& processor)
    : Element(look, plain(words::runningOrder), juce::AccessibilityRole::list), processor_(processor) {
  setHelpText(plain(words::orderRemark));
  setWantsKeyboardFocus(true);
}

void OrderList::refresh() {
  auto& orders = processor_.orders();
  const auto changes = orders.changes(), shelf = processor_.shelf().changes();
  const int now = orders.place();
  if (opened_ && changes == changes_ && shelf == shelf_ && now == now_) return;
  const bool same = opened_ && changes == changes_ && shelf == shelf_;
  opened_ = true;
  changes_ = changes;
  shelf_ = shelf;
  now_ = now;
  if (!same) read();
  place();
  name();
  repaint();
}

void OrderList::read() {
  auto& orders = processor_.orders();
  const auto stood =
      cursor_ < lines_.size() ? std::pair{lines_[cursor_].kind, lines_[cursor_].index} : std::pair{Kind::file, 0};
  lines_.clear();
  files_.clear();
  const auto add = [this](Kind kind, const juce::String& text, int index = 0, const juce::String& detail = {}) {
    lines_.push_back({kind, index, text, detail, {}, {}});
  };
  const auto order = orders.current();
  if (order) {
    std::map<std::string, std::string> titles;
    for (const auto slot : processor_.shelf().filled()) {
      const auto entry = processor_.shelf().entry(slot);
      titles.emplace(entry.id, entry.title);
    }
    add(Kind::title, plain(order->title));
    if (!order->about.empty()) add(Kind::remark, plain(order->about));
    for (std::size_t i = 0; i < order->presets.size(); ++i) {
      const auto& preset = order->presets[i];
      const auto title = titles.find(preset.idiom);
      add(Kind::preset, plain(preset.title), static_cast<int>(i),
          title != titles.end() ? plain(title->second) : plain(preset.idiom) + plain(words::notHere));
    }
    add(Kind::add, plain(words::addToOrder));
    add(Kind::close, plain(words::closeOrder));
  }
  add(Kind::chapter, plain(words::yourOrders));
  for (const auto& entry : orders.entries()) {
    if (order && entry.name == orders.name()) continue;
    files_.push_back(entry.name);
    add(Kind::file, entry.title.empty() ? plain(entry.name) : plain(entry.title), static_cast<int>(files_.size()) - 1,
        entry.title.empty() ? plain(words::cannotBeRead) : plain(entry.name));
  }
  add(Kind::begin, plain(words::beginOrder));
  add(Kind::remark, plain(words::ordersLie).replace("%", plain(ownOrdersFolder().string())));
  cursor_ = 0;
  for (std::size_t i = 0; i < lines_.size(); ++i)
    if (std::pair{lines_[i].kind, lines_[i].index} == stood) cursor_ = i;
  if (!lines_[cursor_].pressable()) move(1);
}

juce::Font OrderList::faceOf(const Line& line) const {
  if (line.kind == Kind::title) return font(type::title, Weight::bold);
  if (line.kind == Kind::remark || line.kind == Kind::chapter) return font(type::comment, Weight::italic);
  return font(type::value, line.kind == Kind::preset && line.index == now_ ? Weight::bold : Weight::roman);
}

void OrderList::fit(int width) {
  setSize(width, getHeight());
  place();
}

/// The present piece opens and says what the player has written beside it.
void OrderList::place() {
  const auto order = processor_.orders().current();
  const int width = std::min(widest, getWidth()) - 2 * edge;
  int y = edge;
  for (auto& line : lines_) {
    line.more.clear();
    int height = line.kind == Kind::title ? titleHeight : lineHeight;
    if (line.kind == Kind::chapter) y += 12;
    const auto& face = font(type::comment, Weight::italic);
    if (line.kind == Kind::preset && line.index == now_ && order &&
        line.index < static_cast<int>(order->presets.size()))
      line.more = broken(face, plain(order->presets[static_cast<std::size_t>(line.index)].about), width - indent, 2);
    if (line.kind == Kind::remark) {
      line.more = broken(face, line.text, width - 2 * bookmark, 4);
      height = 0;
    }
    std::erase_if(line.more, [](const juce::String& text) { return text.isEmpty(); });
    height += static_cast<int>(line.more.size()) * moreHeight + (line.more.empty() ? 0 : 6);
    line.area = {edge, y, width, height};
    y += height;
  }
  setSize(getWidth(), y + edge);
}

juce::Rectangle<int> OrderList::lineOf(const Line& line) const {
  auto area = line.area.withTrimmedLeft(line.pressable() ? indent : 2 * bookmark);
  return area.withHeight(line.kind == Kind::title ? titleHeight : lineHeight);
}

std::vector<juce::Rectangle<int>> OrderList::targets() const {
  std::vector<juce::Rectangle<int>> all;
  for (const auto& line : lines_)
    if (line.pressable()) all.push_back(line.area);
  return all;
}

std::vector<PlacedText> OrderList::texts() const {
  std::vector<PlacedText> all;
  const auto italic = font(type::comment, Weight::italic);
  for (const auto& line : lines_) {
    const auto face = faceOf(line);
    if (line.kind != Kind::remark) {
      auto area = lineOf(line);
      if (line.kind == Kind::preset)
        all.push_back({juce::String(line.index + 1), face, line.area.withHeight(lineHeight).withWidth(indent - 10),
                       Ink::ink, Side::right});
      if (line.detail.isNotEmpty()) {
        const auto detail = shortened(italic, line.detail, area.getWidth() / detailShare);
        all.push_back({detail, italic, area.removeFromRight(widthOf(italic, detail) + 1), Ink::soft, Side::right});
        area.removeFromRight(10);
      }
      all.push_back(
          {shortened(face, line.text, area.getWidth()), face, area, line.kind == Kind::chapter ? Ink::soft : Ink::ink});
    }
    auto below = line.area.withTrimmedLeft(line.pressable() ? indent : 2 * bookmark)
                     .withTrimmedTop(line.kind == Kind::remark ? 3 : lineHeight);
    for (const auto& more : line.more) all.push_back({more, italic, below.removeFromTop(moreHeight), Ink::soft});
  }
  return all;
}

/// Leaders, the bookmark at the present piece, a rule under what an action is, and where the keys stand.
void OrderList::drawMarks(juce::Graphics& g) const {
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    const auto& line = lines_[i];
    if (!line.pressable() || !line.area.intersects(g.getClipBounds())) continue;
    const auto area = lineOf(line);
    const int from = area.getX() + widthOf(faceOf(line), line.text) + 6;
    g.setColour(palette().rule);
    if (line.detail.isNotEmpty()) {
      const auto italic = font(type::comment, Weight::italic);
      const int until = area.getRight() - std::min(widthOf(italic, line.detail), area.getWidth() / detailShare) - 8;
      for (int x = until; x > from; x -= 6)
        g.fillEllipse(static_cast<float>(x), static_cast<float>(area.getCentreY()) + 5, 1.4f, 1.4f);
    } else {
      g.fillRect(area.getX(), area.getBottom() - 4, std::min(area.getWidth(), widthOf(faceOf(line), line.text)), 1);
    }
    g.setColour(palette().ink);
    if (line.kind == Kind::preset && line.index == now_) g.fillRect(line.area.withWidth(bookmark).reduced(0, 2));
    if (i == cursor_ && hasKeyboardFocus(false)) g.drawRect(line.area.withTrimmedLeft(bookmark + 3), 1);
  }
}

void OrderList::name() {
  const auto title = plain(words::runningOrder);
  if (cursor_ >= lines_.size()) return setTitle(title);
  const auto& line = lines_[cursor_];
  auto text = title + ", ";
  if (line.kind == Kind::preset) text << juce::String(line.index + 1) << ", ";
  text << line.text;
  if (line.detail.isNotEmpty()) text << ", " << line.detail;
  if (line.kind == Kind::preset && line.index == now_) text << ", " << plain(words::now);
  setTitle(text);
}

void OrderList::move(int by) {
  for (auto at = static_cast<std::ptrdiff_t>(cursor_) + by; at >= 0 && at < static_cast<std::ptrdiff_t>(lines_.size());
       at += by) {
    if (!lines_[static_cast<std::size_t>(at)].pressable()) continue;
    cursor_ = static_cast<std::size_t>(at);
    break;
  }
  if (auto* scroll = findParentComponentOfClass<Scroll>()) scroll->follow(lines_[cursor_].area);
  name();
  repaint();
}

void OrderList::press(const Line& line) {
  auto& orders = processor_.orders();
  const auto slot = static_cast<std::size_t>(processor_.session().slot());
  const auto entry = processor_.shelf().entry(slot);
  std::string fault;
  switch (line.kind) {
    case Kind::preset:
      orders.choose(line.index);
      break;
    case Kind::add:
      fault = orders.add(entry.title, entry.id, processor_.values());
      break;
    case Kind::close:
      orders.close();
      break;
    case Kind::begin:
      fault = orders.begin(words::newOrder, entry.title, entry.id, processor_.values());
      break;
    case Kind::file:
      fault = orders.open(files_[static_cast<std::size_t>(line.index)]);
      break;
    case Kind::title:
    case Kind::remark:
    case Kind::chapter:
      break;
  }
  if (!fault.empty() && say) say(plain(fault));
  refresh();
}

void OrderList::act() {
  if (cursor_ < lines_.size()) press(Line(lines_[cursor_]));
}

bool OrderList::keyPressed(const juce::KeyPress& key) {
  using juce::KeyPress;
  if (key.getModifiers().isAnyModifierKeyDown()) return false;
  const int code = key.getKeyCode();
  if (code == KeyPress::downKey || code == KeyPress::upKey)
    move(code == KeyPress::downKey ? 1 : -1);
  else if (code == KeyPress::returnKey || code == KeyPress::spaceKey)
    act();
  else
    return false;
  return true;
}

void OrderList::mouseDown(const juce::MouseEvent& event) {
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (!lines_[i].pressable() || !lines_[i].area.contains(event.getPosition())) continue;
    cursor_ = i;
    return act();
  }
}

}  // namespace seguente::screen
