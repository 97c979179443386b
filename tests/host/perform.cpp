#include "tests/host/perform.h"

#include <algorithm>

namespace seguente::host {

struct Host::Head final : juce::AudioPlayHead {
  juce::Optional<PositionInfo> getPosition() const override { return info; }
  juce::Optional<PositionInfo> info;
};

Host::Host(juce::AudioProcessor& plugin, Setter set, const Piece& piece, Performing how)
    : plugin_(plugin),
      set_(std::move(set)),
      piece_(piece),
      how_(std::move(how)),
      head_(std::make_unique<Head>()),
      cuts_(piece.cuts()),
      random_(how_.blocks.seed.value_or(0)) {
  for (const auto& i : piece.inputs())
    if (i.kind == InputKind::midi) notes_.push_back(i);
  if (const int own = plugin_.getTotalNumOutputChannels(); own > 0) {
    how_.audioChannels = std::max(how_.audioChannels, own);  // an instrument's sound is its own,
    how_.largest = std::max(how_.largest, 8193);             // and a wrapper keeps room for what was announced
  }
  audio_.setSize(how_.audioChannels, how_.largest);
  plugin_.setPlayHead(head_.get());
  prepareAgain(piece.score().rate(), how_.largest);
}

Host::Host(Bundle& bundle, const Piece& piece, Performing how)
    : Host(
          bundle.plugin(), [&bundle](ParameterId which, double plain) { bundle.set(which, plain); }, piece,
          std::move(how)) {}

Host::~Host() { plugin_.setPlayHead(nullptr); }

void Host::prepareAgain(double rate, int largest) {
  plugin_.releaseResources();
  plugin_.setRateAndBufferSizeDetails(rate, largest);
  plugin_.prepareToPlay(rate, largest);
}

void Host::send(std::vector<std::uint8_t> bytes, int offset) {
  extra_.addEvent(bytes.data(), static_cast<int>(bytes.size()), offset);
}

void Host::sayWhere() {
  head_->info = juce::nullopt;
  const auto& s = test::stretchAt(piece_.score(), Samples{now_});
  const bool changes = s.sample.value == now_;
  if (how_.says == Says::nothing || (how_.says == Says::onChange && !changes)) return;
  const auto place = piece_.placeAt(now_);
  juce::AudioPlayHead::PositionInfo info;
  // The shim and hosts may take it for the session's place: it goes with the quarters, not with our own count.
  info.setTimeInSamples(std::llround(place.quarters * 60 / place.quartersPerMinute * piece_.score().rate()));
  info.setPpqPosition(place.quarters);
  info.setBpm(place.quartersPerMinute);
  info.setTimeSignature(juce::AudioPlayHead::TimeSignature{place.meter.numerator, place.meter.denominator});
  info.setIsPlaying(place.playing);
  info.setIsRecording(place.playing && how_.records);
  if (how_.says != Says::noBars) {
    info.setPpqPositionOfLastBarStart(place.barStart);
    info.setBarCount(place.bar);
  }
  head_->info = info;
}

void Host::block(std::int64_t n, bool bypassed) {
  const auto& changes = piece_.changes();
  for (; nextChange_ < changes.size() && changes[nextChange_].sample <= now_; ++nextChange_)
    set_(changes[nextChange_].which, changes[nextChange_].plain);
  sayWhere();
  midi_.clear();
  midi_.addEvents(extra_, 0, -1, 0);
  extra_.clear();
  for (; nextNote_ < notes_.size() && notes_[nextNote_].sample.value < now_ + n; ++nextNote_) {
    const auto& m = notes_[nextNote_].midi;
    midi_.addEvent(m.bytes.data(), static_cast<int>(m.length), static_cast<int>(notes_[nextNote_].sample.value - now_));
  }
  audio_.setSize(how_.audioChannels, static_cast<int>(n), false, false, true);
  audio_.clear();
  if (bypassed)
    plugin_.processBlockBypassed(audio_, midi_);
  else
    plugin_.processBlock(audio_, midi_);
  for (const auto m : midi_) heard_.push_back({now_ + m.samplePosition, {m.data, m.data + m.numBytes}});
  now_ += n;
}

std::int64_t Host::nextEnd(std::int64_t end) {
  const auto& sizes = how_.blocks.sizes;
  auto next = end;
  if (!sizes.empty()) next = now_ + (how_.blocks.seed ? random_.oneOf(sizes) : sizes[turn_++ % sizes.size()]);
  if (how_.cut) {
    const auto cut = std::upper_bound(cuts_.begin(), cuts_.end(), now_);
    if (cut != cuts_.end()) next = std::min(next, *cut);
  }
  return std::min(next, end);
}

Host& Host::playUntil(Samples end, bool bypassed) {
  while (now_ < end.value) block(nextEnd(end.value) - now_, bypassed);
  return *this;
}

std::vector<Heard> perform(Format format, const Piece& piece, const Performing& how) {
  Bundle bundle(format);
  return Host(bundle, piece, how).playUntil(piece.end()).heard();
}

std::vector<Heard> asCarried(Format format, std::vector<Heard> heard) {
  if (format == Format::vst3)
    for (auto& h : heard)
      if (h.bytes.size() == 3 && (h.bytes[0] & 0xF0) == 0x90 && h.bytes[2] == 0)
        h.bytes[0] = static_cast<std::uint8_t>(0x80 | (h.bytes[0] & 0x0F));
  return heard;
}

}  // namespace seguente::host
