// What comes out of the engine, as messages at their place in the block, and as the picture for the screen.
#include <algorithm>

#include "plugin/session_body.h"

namespace seguente {

namespace {
constexpr int picturesASecond = 60;
}

void Session::Body::take(const Output& o) noexcept {
  const auto offset = std::clamp<std::int64_t>((o.sample - start).value, 0, std::max<std::int64_t>(length - 1, 0));
  tellPage(o);
  if (o.kind == OutputKind::passed) {
    const auto bytes = whole[o.inputIndex];
    if (bytes.size() > 3)
      out.send(out.context, offset, bytes);
    else
      out.send(out.context, offset, {o.bytes.data(), bytes.size()});
    return;
  }
  if (o.kind == OutputKind::noteOn && o.noteId == 0) {  // the tune's, sent late
    view.tune.add({o.bytes[1]});
    dirty = true;
  } else if (o.kind == OutputKind::noteOn) {
    view.ours.add({o.bytes[1]});
    if (out.why != nullptr) out.why(out.context, offset, o);
    dirty = true;
  } else if (o.kind == OutputKind::noteOff) {
    view.ours.remove({o.bytes[1]});
    view.tune.remove({o.bytes[1]});
    dirty = true;
  }
  out.send(out.context, offset, o.bytes);
}

void Session::Body::take(const Fact& f) noexcept {
  dirty = true;
  tellPage(f);
  switch (f.kind) {
    case FactKind::hand:
      (f.hand == Hand::chord ? view.held : view.tune).add(f.note);
      break;
    case FactKind::chord:
      view.hasChord = f.readings != nullptr;
      if (view.hasChord) view.chord = f.readings->best();
      view.key = f.key;
      break;
    case FactKind::key:
      view.key = f.key;
      break;
    case FactKind::beat:
      break;
  }
}

void Session::Body::owe(const Output& o) noexcept {
  if (o.kind == OutputKind::passed || owedCount == owed.size()) return;
  owed[owedCount++] = o.bytes;
}

void Session::Body::publish() noexcept {
  view.tick = shown.tickAt(start);
  box.write(view);
  dirty = false;
  pictureDue = {start.value + static_cast<std::int64_t>(rate) / picturesASecond};
}

}  // namespace seguente
