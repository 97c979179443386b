#include "plugin/commandline/picture.h"

#include <algorithm>

#include "dsp/harmony.h"
#include "plugin/commandline/told_page.h"
#include "plugin/page/engraving.h"
#include "plugin/page/svg.h"
#include "plugin/page/writer.h"

namespace seguente {

namespace {

constexpr std::size_t mostBars = 24;  // a picture, not the whole score

bool sounds(const page::Bar& bar) {
  for (const page::Staff& staff : bar.staves)
    for (const page::Voice& voice : staff.voices)
      for (const page::Event& event : voice.events)
        if (!event.rest()) return true;
  return false;
}

std::string printed(std::string_view keyName) {
  std::string out;
  for (std::size_t i = 0; i < keyName.size(); ++i)
    out += i == 1 && keyName[i] == '#' ? "\u266F" : i == 1 && keyName[i] == 'b' ? "\u266D" : std::string(1, keyName[i]);
  return out;
}

}  // namespace

std::vector<page::Bar> scoreOf(const Performance& p, const Rendering& r, std::size_t most, std::size_t* whole) {
  page::Writer::Options options;
  options.notesInTheAir = 1u << 16;
  const Key key = keyOf(r);
  if (key.known) options.key = key;
  page::Writer writer(options);
  std::vector<page::Bar> bars;
  const auto collect = [&] {
    while (bars.size() < most && writer.settled(bars.size())) bars.push_back(*writer.bar(bars.size()));
  };
  Ticks last{};
  for (const page::Told& told : toldOf(p, r)) {
    writer.tell(told);
    last = std::max(last, told.tick);
    collect();
  }
  writer.tell(page::Told::of(page::ToldKind::now, last + quarter * 8));
  collect();
  if (whole != nullptr) {
    *whole = static_cast<std::size_t>(writer.end());
    for (auto o = writer.end(); o-- > writer.first() && *whole > bars.size() && !sounds(*writer.bar(o));) --*whole;
  }
  while (!bars.empty() && !sounds(bars.back())) {
    bars.pop_back();
    if (whole != nullptr) *whole = bars.size();
  }
  return bars;
}

std::string drawPicture(const Performance& p, const Rendering& r) {
  std::size_t whole = 0;
  const auto bars = scoreOf(p, r, mostBars, &whole);
  const Idiom* idiom = p.playing.empty() ? nullptr : p.playing.front().idiom;
  const Key key = keyOf(r);
  page::EngravingOptions options;
  options.heading.title = idiom != nullptr ? idiom->title : "As held";
  options.heading.quartersPerMinute = p.time.points().front().anchor.quartersPerMinute;
  if (key.known) options.heading.right = "in " + printed(nameOf(key).view());
  options.margin = 2;
  options.width = 155;
  options.upperName = "melody";
  options.lowerName = "accompaniment";
  options.final = bars.size() == whole;
  if (!options.final)
    options.heading.footnote = "the first " + std::to_string(bars.size()) + " of " + std::to_string(whole) + " bars";
  const std::string said = "The tune, and under it the accompaniment" +
                           (idiom != nullptr ? " as " + idiom->title : std::string()) + ", " +
                           std::to_string(bars.size()) + " of " + std::to_string(whole) + " bars";
  return page::svgOf(page::engrave(bars, options), 8, said);
}

}  // namespace seguente
