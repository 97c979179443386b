// The counter-line: what it must not run along with, and its next note.
#include <algorithm>

#include "dsp/player.h"

namespace seguente {

/// Fills in the bass: what it struck last, and what it strikes together with this step, found on a voicing of its own.
void Player::findBass(const Step& step, const Layer& layer, LineContext& line, const Stage& stage) noexcept {
  Voicing ahead = stage.voicing;
  const auto isBass = [&](std::size_t part) {
    return part < active_->parts.size() && active_->parts[part].kind == PartKind::bass && !parts_[part].silent;
  };
  for (std::size_t part = 0; part < limits::parts; ++part)
    if (const int last = ahead.lastKey(part); isBass(part) && last >= 0)
      line.bassBefore = std::min(line.bassBefore, last);
  line.bass = line.bassBefore;
  for (const Step& other : layer.left) {
    if (other.at != step.at) break;
    if (!isBass(other.part) || other.condition != Condition::always) continue;
    VoicedKeys keys;
    if (other.play.leads()) lookAhead(layer, next_.tick, stage);
    ahead.voice(other, parts_[other.part].voiced, voicing_, keys);
    if (keys.count == 0) continue;
    if (const int last = stage.voicing.lastKey(other.part); last >= 0) line.bassBefore = last;
    line.bass = keys.keys[0].value;
    break;
  }
}

VoicedKeys Player::lineKeys(const Step& step, const Layer& layer, const Stage& stage) noexcept {
  LineContext line;
  line.tune = stage.tune.lowest();
  line.tuneBefore = stage.tune.before(next_.due);
  line.ceiling = voicing_.ceiling;
  line.noParallels = active_->parts[step.part].noParallels;
  if (anyBarred_) line.barred = barred_;
  findBass(step, layer, line, stage);
  VoicedKeys keys;
  const int key = stage.voicing.lineKey(step.part, parts_[step.part].voiced, voicing_, line);
  if (key < 128) keys.add(keyWithin(key), degreeOf(*voicing_.chord, keyWithin(key)));
  return keys;
}

}  // namespace seguente
