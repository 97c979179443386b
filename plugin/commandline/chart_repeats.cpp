#include "plugin/commandline/chart_repeats.h"

#include <algorithm>

#include "plugin/commandline/chart_file.h"

namespace seguente {

namespace {

using Kind = RepeatSign::Kind;
constexpr std::size_t mostStretches = 10'000;

class Walk {
 public:
  Walk(const std::vector<RepeatSign>& signs, std::int64_t end) : signs_(signs), end_(end) {}

  Checked<std::vector<PlayedStretch>> walk() {
    while (next_ < signs_.size() && !over_) {
      const RepeatSign& sign = signs_[next_++];
      obey(sign);
      if (out_.size() > mostStretches) return bad<std::vector<PlayedStretch>>("repeats without end");
    }
    if (!over_) playTo(end_);
    return good(std::move(out_));
  }

 private:
  void playTo(std::int64_t to) {
    if (to > at_) out_.push_back({at_, to});
    at_ = std::max(at_, to);
  }
  /// On from the sign with this number.
  void jump(std::size_t sign, std::int64_t to) {
    next_ = sign;
    at_ = to;
  }

  void obey(const RepeatSign& sign) {
    switch (sign.kind) {
      case Kind::forward:
        playTo(sign.at);
        start_ = sign.at;
        startSign_ = next_;
        time_ = 1;
        break;
      case Kind::backward:
        playTo(sign.at);
        if (!jumped_ && time_ < timesOf(sign)) {
          ++time_;
          jump(startSign_, start_);
        } else if (next_ >= signs_.size() || signs_[next_].kind != Kind::ending) {
          beginAnew(sign.at);
        }
        break;
      case Kind::ending:
        playTo(sign.at);
        if (!takes(sign)) skipEnding();
        break;
      case Kind::endingStops:
        playTo(sign.at);
        beginAnew(sign.at);
        break;
      case Kind::segno:
        segno_ = sign.at;
        segnoSign_ = next_;
        break;
      case Kind::fine:
        if (!jumped_) break;
        playTo(sign.at);
        over_ = true;
        break;
      case Kind::daCapo:
      case Kind::dalSegno:
        if (jumped_) break;
        playTo(sign.at);
        jumped_ = true;
        if (sign.kind == Kind::daCapo)
          jump(0, 0);
        else
          jump(segnoSign_, segno_);
        beginAnew(at_);
        break;
    }
  }

  void beginAnew(std::int64_t at) {
    start_ = at;
    startSign_ = next_;
    time_ = 1;
  }

  /// How often a stretch is played: as the sign says, or as its endings do.
  int timesOf(const RepeatSign& sign) const {
    std::uint32_t all = 0;
    for (std::size_t i = startSign_; i < signs_.size(); ++i) {
      if (i >= next_ && signs_[i].kind != Kind::ending && signs_[i].kind != Kind::backward) break;
      if (signs_[i].kind == Kind::ending) all |= signs_[i].numbers;
    }
    int most = sign.times;
    for (int n = 1; n < 32; ++n)
      if ((all >> n & 1) != 0) most = std::max(most, n);
    return most;
  }

  bool takes(const RepeatSign& sign) const {
    if (!jumped_) return (sign.numbers >> time_ & 1) != 0;
    return next_ >= signs_.size() || !anotherEnding();  // after a jump the last one
  }
  bool anotherEnding() const {
    for (std::size_t i = next_; i < signs_.size(); ++i) {
      if (signs_[i].kind == Kind::ending) return true;
      if (signs_[i].kind == Kind::forward) return false;
    }
    return false;
  }
  /// To the next ending, or to where this one stops.
  void skipEnding() {
    while (next_ < signs_.size() && signs_[next_].kind != Kind::ending && signs_[next_].kind != Kind::endingStops &&
           signs_[next_].kind != Kind::forward)
      ++next_;
    at_ = next_ < signs_.size() ? signs_[next_].at : end_;
  }

  const std::vector<RepeatSign>& signs_;
  std::int64_t end_;
  std::vector<PlayedStretch> out_;
  std::size_t next_ = 0, startSign_ = 0, segnoSign_ = 0;
  std::int64_t at_ = 0, start_ = 0, segno_ = 0;
  int time_ = 1;
  bool jumped_ = false, over_ = false;
};

}  // namespace

Checked<std::vector<PlayedStretch>> playedOut(const std::vector<RepeatSign>& signs, std::int64_t end) {
  return Walk(signs, end).walk();
}

Checked<Chart> playedOut(const Chart& chart, const std::vector<RepeatSign>& signs, Ticks end) {
  const auto stretches = playedOut(signs, end.value);
  if (!stretches.good()) return bad<Chart>(stretches.fault);
  Chart out{{}, chart.pickup, chart.ownBars, {}};
  std::vector<std::size_t> source;
  std::int64_t now = 0;
  for (const auto& [from, to] : stretches.value) {
    for (std::size_t i = 0; i < chart.chords.size(); ++i) {
      Expectation e = chart.chords[i];
      if (e.from.value >= to || e.to.value <= from) continue;
      const bool begun = e.from.value < from;
      const Ticks start{std::max(e.from.value, from) - from + now}, stop{std::min(e.to.value, to) - from + now};
      if (begun && !source.empty() && source.back() == i && out.chords.back().to == start) {
        out.chords.back().to = stop;  // the stretch before led on into this one
        continue;
      }
      out.chords.push_back({start, stop, e.chord, e.hold && !begun, e.end});
      out.symbols.push_back(chart.symbols[i]);
      source.push_back(i);
    }
    now += to - from;
  }
  // Fine is where it is reached the last time.
  for (std::size_t i = 0; i < source.size(); ++i)
    if (std::find(source.begin() + static_cast<std::ptrdiff_t>(i) + 1, source.end(), source[i]) != source.end())
      out.chords[i].end = false;
  return good(std::move(out));
}

std::uint32_t endingNumbers(std::string_view text) {
  std::uint32_t bits = 0;
  int from = 0, value = 0;
  bool range = false, digits = false;
  const auto close = [&] {
    if (!digits || value < 1 || value > 31) return false;
    for (int n = range ? from : value; n <= value; ++n) bits |= 1u << n;
    value = 0;
    range = digits = false;
    return true;
  };
  for (const char c : text) {
    if (c >= '0' && c <= '9') {
      value = std::min(value * 10 + (c - '0'), 99);
      digits = true;
    } else if (c == '-' && digits && !range) {
      from = value;
      value = 0;
      range = true;
      digits = false;
    } else if (c == ',') {
      if (!close()) return 0;
    } else if (c != ' ' && c != '.') {
      return 0;
    }
  }
  return close() ? bits : 0;
}

}  // namespace seguente
