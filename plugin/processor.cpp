#include "plugin/processor.h"

#include <string_view>

#include "plugin/editor/editor.h"
#include "plugin/host_parameters.h"
#include "plugin/sound/instrument.h"
#include "plugin/sound/take.h"

// A test that loads the bundle may have itself told where our work on the audio thread begins and ends, so that its
// guard looks at that alone (tests/host/audio_thread_hook.h). In every real host both are null.
extern "C" {
__attribute__((weak, visibility("default"))) void seguente_audio_begin();
__attribute__((weak, visibility("default"))) void seguente_audio_end();
// The one exemption: the synthesiser's own work, which is FluidSynth's word and not ours. Counted by the same tests.
__attribute__((weak, visibility("default"))) void seguente_synthesiser_runs();
}

namespace seguente {

namespace {
struct AudioWork {
  AudioWork() {
    if (seguente_audio_begin != nullptr) seguente_audio_begin();
  }
  ~AudioWork() {
    if (seguente_audio_end != nullptr) seguente_audio_end();
  }
  AudioWork(const AudioWork&) = delete;
  AudioWork& operator=(const AudioWork&) = delete;
};

constexpr std::size_t messagesKept = 50;
constexpr int ticksASecond = 4;
// Room for what one block may bring before a buffer grows: thousands of messages, or a long system exclusive one.
constexpr std::size_t bytesIn = std::size_t{1} << 18;

HostPosition plain(const juce::AudioPlayHead::PositionInfo& p) noexcept {
  HostPosition host;
  if (const auto v = p.getPpqPosition()) host.quarters = *v;
  if (const auto v = p.getBpm()) host.quartersPerMinute = *v;
  if (const auto v = p.getTimeSignature()) {
    const auto fits = [](int n) { return n > 0 && n < 256; };
    if (fits(v->numerator) && fits(v->denominator))
      host.meter = Meter{static_cast<std::uint8_t>(v->numerator), static_cast<std::uint8_t>(v->denominator)};
  }
  if (const auto v = p.getPpqPositionOfLastBarStart()) host.barStart = *v;
  if (const auto v = p.getBarCount()) host.bar = *v;
  host.playing = p.getIsPlaying();
  return host;
}
}  // namespace

Processor::Processor() : Processor(nullptr) {}

Processor::Processor(std::unique_ptr<Instrument> instrument)
    : AudioProcessor(instrument ? BusesProperties().withOutput("Output", juce::AudioChannelSet::stereo())
                                : BusesProperties()),
      shelf_(ownIdiomsFolder()),
      session_(values_, signals_, shelf_.lent(), view_),
      orders_(shelf_, session_.order()),
      instrument_(std::move(instrument)),
      take_(std::make_unique<Take>()),
      playedIn_(std::make_unique<Take>()) {
  const auto title = [this](std::size_t slot) {
    const auto entry = shelf_.entry(slot);
    return entry.origin == SlotOrigin::empty ? std::string(shippedTitle(slot)) : entry.title;
  };
  for (const auto& row : parameterTable()) {
    auto made = makeHostParameter(row, values_, title);
    hostParameters_[static_cast<std::size_t>(row.which)] = made.get();
    addParameter(made.release());
  }
}

Processor::~Processor() = default;

juce::RangedAudioParameter& Processor::hostParameter(ParameterId which) const {
  return *hostParameters_[static_cast<std::size_t>(which)];
}

juce::AudioProcessorParameter* Processor::getBypassParameter() const { return &hostParameter(ParameterId::bypass); }

/// A MIDI effect has no audio of its own; what a host adds passes as it comes. An instrument has two sides.
bool Processor::isBusesLayoutSupported(const BusesLayout& layout) const {
  if (instrument_)
    return layout.getMainInputChannelSet().isDisabled() &&
           layout.getMainOutputChannelSet() == juce::AudioChannelSet::stereo();
  return layout.getMainInputChannelSet() == layout.getMainOutputChannelSet() ||
         layout.getMainInputChannelSet().isDisabled() || layout.getMainOutputChannelSet().isDisabled();
}

void Processor::prepareToPlay(double rate, int) {
  rate_ = rate;
  shelf_.open();
  orders_.useFolder(ownOrdersFolder());
  in_.ensureSize(bytesIn);
  room_.ensureSize(bytesIn);
  session_.prepare(rate);
  take_->prepare(rate);
  playedIn_->prepare(rate);
  if (instrument_) {
    const auto before = instrument_->state();
    if (const auto now = instrument_->prepare(rate); now != before) say(whyNoSound(now));
  }
  ticker_.start(ticksASecond);
}

void Processor::releaseResources() {}

void Processor::reset() {
  session_.give(Signal::silenceAll);
  reader_.read({});
  if (instrument_) instrument_->silence();
}

void Processor::processBlock(juce::AudioBuffer<float>& audio, juce::MidiBuffer& midi) {
  run(midi, audio.getNumSamples(), values_.get(ParameterId::bypass) >= 0.5);
  if (instrument_) sound(audio);
  take_->end();
  playedIn_->end();
}

void Processor::processBlockBypassed(juce::AudioBuffer<float>& audio, juce::MidiBuffer& midi) {
  run(midi, audio.getNumSamples(), true);
  if (instrument_) sound(audio);
  take_->end();
  playedIn_->end();
}

void Processor::run(juce::MidiBuffer& midi, std::int64_t length, bool bypassed) {
  if (!session_.prepared()) return;
  const AudioWork work;
  if (take_->on()) take_->begin(session_.time(), length);
  const bool playedIn = playedIn_->on();
  if (playedIn) playedIn_->begin(session_.time(), length);
  play(midi, length, bypassed || playedIn);
}

void Processor::play(juce::MidiBuffer& midi, std::int64_t length, bool bypassed) {
  std::optional<HostPosition> position;
  if (const auto* head = getPlayHead())
    if (const auto p = head->getPosition()) position = plain(*p);
  // What came is copied aside, and the host's own buffer is written anew. It may have room for less than we send (every
  // note-off that is owed), and must not grow here: ours takes its place, once.
  in_.clear();
  if (!midi.isEmpty()) in_.data.addArray(midi.data);
  if (lent_ == nullptr || midi.data.begin() != lent_) midi.swapWith(room_);
  midi.clear();
  lent_ = midi.data.begin();
  struct Into {
    juce::MidiBuffer& midi;
    Instrument* instrument;
    Take& take;
  } into{midi, instrument_.get(), *take_};
  MidiOut out{&into, [](void* context, std::int64_t offset, std::span<const std::uint8_t> bytes) {
                static_cast<Into*>(context)->midi.addEvent(bytes.data(), static_cast<int>(bytes.size()),
                                                           static_cast<int>(offset));
              }};
  if (instrument_ || take_->on())
    out.played = [](void* context, const Played& played) {
      auto& to = *static_cast<Into*>(context);
      if (to.instrument != nullptr) to.instrument->add(played);
      to.take.arranged(played);
    };
  session_.begin(position, length, bypassed, out);
  const auto hear = [this](std::int64_t offset, std::span<const std::uint8_t> bytes) {
    take_->performed(offset, bytes);
    playedIn_->performed(offset, bytes);
    session_.message(offset, bytes);
  };
  screenKeys_.take([&](const ScreenKeys::Message& m) { hear(0, m); });
  for (const auto m : in_) hear(m.samplePosition, {m.data, static_cast<std::size_t>(m.numBytes > 0 ? m.numBytes : 0)});
  session_.end();
  // Behind what was played, though it may lie before it within the block: a bar that is read aloud can bear that.
  reader_.play(length, rate_, [&](const Played& m) {
    midi.addEvent(m.bytes.data(), m.length, m.offset);
    if (instrument_) instrument_->add(m);
  });
}

/// Behind the guarded part of the block: the synthesiser's work is its own.
void Processor::sound(juce::AudioBuffer<float>& audio) {
  const int frames = audio.getNumSamples();
  if (audio.getNumChannels() < 2) return audio.clear();
  if (seguente_synthesiser_runs != nullptr) seguente_synthesiser_runs();
  const juce::ScopedNoDenormals fast;
  float* const left = audio.getWritePointer(0);
  float* const right = audio.getWritePointer(1);
  instrument_->render(left, right, frames);
  take_->sounded(left, right, frames);
  instrument_->applyVolume(left, right, frames);
  for (int extra = 2; extra < audio.getNumChannels(); ++extra) audio.clear(extra, 0, frames);
}

void Processor::getStateInformation(juce::MemoryBlock& into) {
  SavedState saved;
  for (const auto& row : parameterTable()) saved.values[static_cast<std::size_t>(row.which)] = values_.get(row.which);
  for (std::size_t i = 0; i < signalCount; ++i) saved.givers[i] = signals_.get(static_cast<Signal>(i));
  shelf_.open();
  saved.slots = shelf_.save(values_.used());
  saved.order = orders_.save();
  const auto text = writeState(saved);
  into.replaceAll(text.data(), text.size());
}

void Processor::setStateInformation(const void* data, int size) {
  if (data == nullptr || size <= 0) return;
  const auto result = readState({static_cast<const char*>(data), static_cast<std::size_t>(size)});
  if (!result.state) return say("This session's settings cannot be read, so nothing was changed: " + result.fault);
  shelf_.restore(result.state->slots);
  if (!result.state->slots.empty()) values_.useNone();  // what was chosen before this session was another's
  for (const auto& slot : result.state->slots) values_.use(static_cast<std::size_t>(slot.slot));
  for (const auto& row : parameterTable())
    values_.set(row.which, result.state->values[static_cast<std::size_t>(row.which)]);
  for (std::size_t i = 0; result.state->saysGivers && i < signalCount; ++i)
    signals_.set(static_cast<Signal>(i), result.state->givers[i]);
  if (result.state->saysGivers || result.state->order) orders_.restore(result.state->order);  // a preset leaves it open
  const std::scoped_lock telling(tellingHost_);
  updateHostDisplay(ChangeDetails().withParameterInfoChanged(true));
}

void Processor::addListener(juce::AudioProcessorListener* listener) {
  const std::scoped_lock telling(tellingHost_);
  AudioProcessor::addListener(listener);
}

void Processor::removeListener(juce::AudioProcessorListener* listener) {
  const std::scoped_lock telling(tellingHost_);
  AudioProcessor::removeListener(listener);
}

void Processor::say(const std::string& message) {
  if (message.empty()) return;
  const std::scoped_lock lock(messagesMutex_);
  messages_.push_back(message);
  ++messageCount_;
}

std::vector<std::string> Processor::messages() const {
  const std::scoped_lock lock(messagesMutex_);
  return messages_;
}

std::uint32_t Processor::messageCount() const {
  const std::scoped_lock lock(messagesMutex_);
  return messageCount_;
}

/// The slot, and what else the order that is open may have set.
void Processor::tellHost() {
  const auto order = orders_.current();
  const std::scoped_lock telling(tellingHost_);
  for (const auto& row : parameterTable()) {
    if (row.which != ParameterId::idiom && (!order || !order->names(row.which))) continue;
    auto& host = hostParameter(row.which);
    host.beginChangeGesture();
    host.setValueNotifyingHost(host.getValue());
    host.endChangeGesture();
  }
}

void Processor::tick() {
  score_.read();
  if (const auto choices = session_.choices(); choices != toldChoices_) {
    toldChoices_ = choices;
    tellHost();
  }
  shelf_.look();
  orders_.look();
  auto fresh = shelf_.takeMessages();
  for (auto& message : orders_.takeMessages()) fresh.push_back(std::move(message));
  const std::scoped_lock lock(messagesMutex_);
  for (auto& message : fresh) {
    messages_.push_back(std::move(message));
    ++messageCount_;
  }
  while (messages_.size() > messagesKept) messages_.erase(messages_.begin());
}

juce::AudioProcessorEditor* Processor::createEditor() {
  orders_.useFolder(ownOrdersFolder());  // hosts may show a window before they prepare
  return makeEditor(*this).release();
}

}  // namespace seguente
