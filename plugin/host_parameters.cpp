#include "plugin/host_parameters.h"

#include <cmath>
#include <utility>

namespace seguente {
namespace {

juce::AudioProcessorParameterWithIDAttributes attributesOf(const Parameter& row) {
  return juce::AudioProcessorParameterWithIDAttributes().withLabel(juce::String::fromUTF8(row.unit));
}

/// Every row is stepped, and its plain values are what is saved: 0..1 exists only at the host's border.
class HostParameter final : public juce::RangedAudioParameter {
 public:
  HostParameter(const Parameter& row, ParameterValues& values, SlotTitle title)
      : RangedAudioParameter(juce::ParameterID{row.id, 1}, juce::String::fromUTF8(row.name), attributesOf(row)),
        row_(row),
        values_(values),
        title_(std::move(title)),
        range_(static_cast<float>(row.low), static_cast<float>(row.high), static_cast<float>(row.step)) {}

  const juce::NormalisableRange<float>& getNormalisableRange() const override { return range_; }
  float getValue() const override { return toNormal(values_.get(row_.which)); }
  void setValue(float normal) override { values_.set(row_.which, toPlain(normal)); }
  float getDefaultValue() const override { return toNormal(row_.standard); }
  int getNumSteps() const override { return static_cast<int>(std::lround((row_.high - row_.low) / row_.step)) + 1; }
  bool isDiscrete() const override { return row_.kind != ParameterKind::number; }
  bool isBoolean() const override { return row_.kind == ParameterKind::onOff; }

  juce::String getText(float normal, int most) const override {
    const double plain = toPlain(normal);
    auto text = juce::String::fromUTF8(textOf(row_, plain).c_str());
    if (row_.kind == ParameterKind::slot) {
      const auto title = title_(static_cast<std::size_t>(plain));
      if (!title.empty()) text << " " << juce::String::fromUTF8(title.c_str());
    }
    return most > 0 ? text.substring(0, most) : text;
  }
  float getValueForText(const juce::String& text) const override {
    if (row_.kind == ParameterKind::slot)
      for (std::size_t slot = 0; slot < slotsShown(); ++slot) {
        const auto title = title_(slot);
        if (!title.empty() && text.trim().equalsIgnoreCase(juce::String::fromUTF8(title.c_str())))
          return toNormal(static_cast<double>(slot));
      }
    // "4 Rocking bass" as getText shows it: the number leads.
    const auto words = row_.kind == ParameterKind::slot ? text.trim().upToFirstOccurrenceOf(" ", false, false) : text;
    return toNormal(valueOf(row_, words.toStdString()).value_or(values_.get(row_.which)));
  }

 private:
  std::size_t slotsShown() const { return static_cast<std::size_t>(row_.high) + 1; }
  double toPlain(float normal) const {
    return allowed(row_, row_.low + static_cast<double>(normal) * (row_.high - row_.low));
  }
  float toNormal(double plain) const { return static_cast<float>((plain - row_.low) / (row_.high - row_.low)); }

  const Parameter& row_;
  ParameterValues& values_;
  SlotTitle title_;
  juce::NormalisableRange<float> range_;
};

}  // namespace

std::unique_ptr<juce::RangedAudioParameter> makeHostParameter(const Parameter& row, ParameterValues& values,
                                                              SlotTitle title) {
  return std::make_unique<HostParameter>(row, values, std::move(title));
}

}  // namespace seguente
