#include "plugin/editor/score_view.h"

#include <algorithm>
#include <cmath>

#include "plugin/editor/strings.h"

namespace seguente::screen {
namespace {

constexpr float usualSpace = 8, smallestSpace = 5;
constexpr int slotHeight = 190;   // of a system at the usual space
constexpr double margin = 1.2;    // staff spaces: the brace hangs to the left
constexpr double nominal = 23.4;  // staff spaces a system needs when nothing reaches far
constexpr int mostSystems = 3;
constexpr int narrow = 720 - 2 * 16;

/// A bar that has not come yet: empty staves and its count.
page::Bar emptyAfter(const page::Bar& last) {
  page::Bar bar;
  bar.ordinal = last.ordinal + 1;
  bar.number = last.number + 1;
  bar.meter = last.meter;
  bar.length = last.meter.bar();
  bar.start = last.start + last.length;
  bar.key = last.key;
  bar.swing = last.swing;
  return bar;
}

}  // namespace

ScoreView::ScoreView(const Look& look) : Element(look, plain(words::page), juce::AccessibilityRole::image) {
  setWantsKeyboardFocus(true);
  setOpaque(true);
}

void ScoreView::resized() {
  const int room = getHeight();
  const auto count = static_cast<std::size_t>(std::clamp(room / (slotHeight - 26), 1, mostSystems));
  drawings_.resize(count);
  bars_.assign(count, {});
  stands_.assign(count, {});
  plans_.clear();
  seen_ = ~0ull;
  if (score_ != nullptr) refresh(*score_);
}

/// Four, or as many as there is room for when bars are full; a pickup counts for none.
std::size_t ScoreView::barsASystem(page::Writer& writer, std::uint64_t from) const {
  std::size_t count = getWidth() < narrow ? 2 : 4;
  const page::Bar* sample = writer.bar(from > writer.first() ? from - 1 : from);
  if (sample != nullptr) {
    page::EngravingOptions options;
    options.width = 1000;
    const auto sheet = page::engrave(std::span(sample, 1), options);
    std::size_t heads = 0;  // columns, more or less
    double last = -1;
    for (const auto& head : sheet.heads)
      if (std::abs(head.middle.x - last) > 0.5) {
        ++heads;
        last = head.middle.x;
      }
    const double room = getWidth() / static_cast<double>(usualSpace) - 10;
    while (count > 1 && static_cast<double>(heads) * 1.9 * static_cast<double>(count) > room) count /= 2;
  }
  const page::Bar* first = writer.bar(from);
  return count + (first != nullptr && first->before > Ticks{} ? 1 : 0);
}

void ScoreView::plan(page::Writer& writer) {
  while (!plans_.empty() && plans_.front().first < writer.first()) plans_.erase(plans_.begin());
  if (writer.end() == writer.first()) return;
  if (plans_.empty()) plans_.push_back({writer.first(), barsASystem(writer, writer.first())});
  while (plans_.back().first + plans_.back().count < writer.end()) {
    const auto next = plans_.back().first + plans_.back().count;
    plans_.push_back({next, barsASystem(writer, next)});
  }
}

std::vector<page::Bar> ScoreView::barsOf(const Plan& plan) {
  std::vector<page::Bar> bars;
  auto& writer = score_->writer();
  for (auto o = plan.first; o < plan.first + plan.count; ++o) {
    if (frozen_ && frozen_->ordinal == o)
      bars.push_back(*frozen_);
    else if (const auto* bar = writer.bar(o))
      bars.push_back(*bar);
    else if (!bars.empty())
      bars.push_back(emptyAfter(bars.back()));
  }
  return bars;
}

void ScoreView::write(std::size_t slot, const Plan* plan) {
  auto& drawing = drawings_[slot];
  auto& writer = score_->writer();
  if (plan != nullptr && stands_[slot] == plan->first) return;
  stands_[slot].reset();
  if (plan != nullptr && plan->first + plan->count <= writer.end() && writer.settled(plan->first + plan->count - 1))
    stands_[slot] = plan->first;
  const auto dirty = [this](juce::Rectangle<int> area) { repaint(area); };
  if (plan == nullptr) {
    bars_[slot].clear();
    drawing.set({}, usualSpace, {}, dirty);
    return;
  }
  bars_[slot] = barsOf(*plan);
  const float slotHeightNow = static_cast<float>(getHeight()) / static_cast<float>(drawings_.size());
  float space = std::clamp(slotHeightNow / static_cast<float>(nominal + 0.4), smallestSpace, 12.0f);
  page::EngravingOptions options;
  options.margin = margin;
  options.barsASystem = plan->count;
  options.systems = 1;
  options.even = true;
  options.drawHead = false;
  options.colour = page::EngravingOptions::Colour::sounding;
  options.over = 1.6;
  options.between = 5;
  options.playhead = page::EngravingOptions::Playhead{head_, {std::max<std::int64_t>(beat_, 0)}};
  const page::Bar* before = plan->first > score_->writer().first() ? score_->writer().bar(plan->first - 1) : nullptr;
  const page::Bar copy = before != nullptr ? *before : page::Bar{};
  if (before != nullptr) options.before = &copy;
  page::Sheet sheet;
  for (int tries = 0; tries < 2; ++tries) {
    options.width = static_cast<double>(static_cast<float>(getWidth() - 2) / space) + margin;
    sheet = page::engrave(bars_[slot], options);
    const auto need = static_cast<float>(sheet.height - margin) * space;
    if (need <= slotHeightNow + 0.5f) break;
    space = std::max(smallestSpace, space * slotHeightNow / need);
  }
  drawing.set(std::move(sheet), space,
              {0, static_cast<float>(slot) * slotHeightNow - static_cast<float>(margin) * space}, dirty);
}

void ScoreView::refresh(LiveScore& score) {
  score_ = &score;
  followReading();
  const auto& view = score.view();
  auto& writer = score.writer();
  if (holding_ != view.holding || playing_ != view.playing) {
    holding_ = view.holding;
    playing_ = view.playing;
    repaint(band_.expanded(40, 30));
  }
  std::uint64_t head = ~0ull;
  std::int64_t beat = -1;
  if (const auto end = writer.end(); end > writer.first() && playing_) {
    head = end - 1;
    const auto* bar = writer.bar(head);
    const auto at = std::clamp<std::int64_t>((view.tick - bar->start).value, 0, bar->length.value - 1);
    beat = (at + bar->before.value) / bar->meter.beat().value * bar->meter.beat().value - bar->before.value;
  }
  if (seen_ != score.changes() || head != head_ || beat != beat_) {
    const bool fresh = head != head_ || beat != beat_;
    if (seen_ == ~0ull) std::fill(stands_.begin(), stands_.end(), std::nullopt);
    seen_ = score.changes();
    head_ = head;
    beat_ = beat;
    plan(writer);
    turned_ = std::clamp(turned_, 0, std::max(0, static_cast<int>(plans_.size()) - 1));
    const auto slots = drawings_.size();
    for (std::size_t slot = 0; slot < slots; ++slot) {
      const Plan* shown = nullptr;
      const auto last = plans_.size() - static_cast<std::size_t>(turned_);  // one past
      for (std::size_t p = last > slots ? last - slots : 0; p < last; ++p)
        if (p % slots == slot) shown = &plans_[p];
      write(slot, shown);
    }
    const bool empty =
        std::all_of(drawings_.begin(), drawings_.end(), [](const Drawing& d) { return d.sheet().heads.empty(); });
    if (empty != empty_) repaint();
    empty_ = empty;
    if (fresh) say();
  }
  moveBand();
}

void ScoreView::moveBand() {
  juce::Rectangle<int> band;
  const Drawing* drawing = nullptr;
  if (const auto* place = head_ == ~0ull || (frozen_ && frozen_->ordinal == head_) ? nullptr : placeOf(head_, &drawing);
      place != nullptr) {
    const auto* bar = shownBar(head_);
    const auto& view = score_->view();
    auto at = Ticks{std::clamp<std::int64_t>((view.tick - bar->start).value, 0, bar->length.value)};
    if (reduced_) at = {std::max<std::int64_t>(beat_, 0)};
    const float s = drawing->space();
    const auto top = drawing->toScreen({place->xOf(at, bar->length), place->box.top - 1});
    const auto foot = drawing->toScreen({0, place->box.bottom + 1});
    const int wide = std::max(8, static_cast<int>(std::lround(s * 2.7f)));
    band = {static_cast<int>(std::lround(top.x)) - wide / 2, static_cast<int>(top.y), wide,
            static_cast<int>(foot.y - top.y)};
  }
  if (band == band_) return;
  const int wedge = 14;
  for (const auto& area : {band_, band})
    if (!area.isEmpty()) repaint(area.withTop(area.getY() - wedge));
  band_ = band;
}

void ScoreView::paint(juce::Graphics& g) {
  const auto& p = palette();
  g.fillAll(p.page);
  if (!band_.isEmpty() && playing_) {
    g.setColour(p.band);
    g.fillRect(band_);
  }
  for (const auto& drawing : drawings_) drawing.paint(g, look());
  if (!band_.isEmpty()) {
    const auto x = static_cast<float>(band_.getCentreX()), y = static_cast<float>(band_.getY());
    g.setColour(p.ink);
    if (holding_) {
      drawGlyph(g, page::Glyph::fermata, {x, y + 1}, 6);
    } else {
      juce::Path wedge;
      wedge.addTriangle(x - 5, y - 8, x + 5, y - 8, x, y - 1);
      g.fillPath(wedge);
    }
  }
  g.setColour(p.ink);
  if (frozen_)
    if (const auto frame = frameOf(frozen_->ordinal); !frame.isEmpty()) g.drawRect(frame, 2);
  if (cursor_ && (!frozen_ || frozen_->ordinal != *cursor_))
    if (const auto frame = frameOf(*cursor_); !frame.isEmpty()) {
      const float dashes[] = {5, 4};
      const auto f = frame.toFloat();
      for (const auto& line : {juce::Line<float>(f.getTopLeft(), f.getTopRight()),
                               juce::Line<float>(f.getBottomLeft(), f.getBottomRight()),
                               juce::Line<float>(f.getTopLeft(), f.getBottomLeft()),
                               juce::Line<float>(f.getTopRight(), f.getBottomRight())})
        g.drawDashedLine(line, dashes, 2, 1.5f);
    }
  if (pointed_) {
    const auto heads = headsOf(pointed_->first);
    if (pointed_->second < heads.size()) {
      const auto& found = heads[pointed_->second];
      const auto at = found.drawing->toScreen(found.head->middle);
      const float half = found.drawing->space() * 1.05f;
      g.drawRect(juce::Rectangle<float>(at.x - half, at.y - half, half * 2, half * 2), 1.5f);
    }
  }
  Element::paint(g);
}

std::vector<PlacedText> ScoreView::texts() const {
  if (empty_) {
    const bool staves = !drawings_.empty() && !drawings_.front().sheet().bars.empty();
    const auto area = staves ? getLocalBounds().withHeight(24) : getLocalBounds();
    return {{plain(words::emptyPage), font(staves ? type::body : type::title, Weight::italic), area.reduced(edge, 0),
             Ink::soft, Side::middle}};
  }
  if (!frozen_) return {};
  const auto frame = frameOf(frozen_->ordinal);
  if (frame.isEmpty()) return {};
  const auto text = plain(words::standingStill).replace("%", juce::String(frozen_->number));
  const auto face = font(type::small, Weight::bold);
  auto area = juce::Rectangle<int>(frame.getX() + 6, frame.getBottom() - 19, widthOf(face, text) + 1, 17);
  std::vector<PlacedText> all{{text, face, area.constrainedWithin(getLocalBounds())}};
  if (const auto slow = slowlyArea(); !slow.isEmpty())
    all.push_back(
        {plain(words::slowly), font(type::small, Weight::italic), slow.reduced(6, 0), Ink::ink, Side::middle});
  return all;
}

std::vector<juce::Rectangle<int>> ScoreView::targets() const {
  const auto slow = slowlyArea();
  return slow.isEmpty() ? std::vector<juce::Rectangle<int>>{} : std::vector{slow};
}

/// Hangs under the frame of the bar that stands still.
juce::Rectangle<int> ScoreView::slowlyArea() const {
  if (!frozen_) return {};
  const auto frame = frameOf(frozen_->ordinal);
  if (frame.isEmpty()) return {};
  const int wide = widthOf(font(type::small, Weight::italic), plain(words::slowly)) + 13;
  return juce::Rectangle<int>(frame.getRight() - wide - 2, frame.getBottom() - smallestTarget - 2, wide, smallestTarget)
      .constrainedWithin(getLocalBounds());
}

}  // namespace seguente::screen
