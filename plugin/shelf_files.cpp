// The player's own files on the shelf.
#include <algorithm>
#include <utility>

#include "plugin/shelf_body.h"

namespace seguente {

namespace {

bool isShippedId(std::string_view id) {
  const auto all = shippedIdioms();
  return std::any_of(all.begin(), all.end(), [id](const ShippedIdiom& s) { return id == s.id; });
}

}  // namespace

void Shelf::Body::lookAtFolder() {
  for (const auto& change : folder.look()) {
    auto& file = files[change.name];
    if (change.event == FileEvent::gone)
      gone(change.name, file);
    else if (change.event == FileEvent::unreadable)
      refuse(file, change.name + ": this file cannot be read");
    else
      written(change.name, change.text, file);
  }
}

void Shelf::Body::gone(const std::string& name, OwnFile& file) {
  file.refusal.clear();
  if (file.slot) messages.push_back(name + " is gone; its idiom stays until this session is closed");
}

void Shelf::Body::refuse(OwnFile& file, std::string why) {
  if (file.slot) why += "; what it was before plays on";
  if (why != file.refusal) messages.push_back(why);
  file.refusal = std::move(why);
}

void Shelf::Body::written(const std::string& name, const std::string& text, OwnFile& file) {
  auto result = compileIdiom(text, name);
  if (!result.idiom) return refuse(file, told(result.faults));
  const bool first = !file.slot;
  if (first) file.slot = slotFor(result.idiom->id);
  if (!file.slot) return refuse(file, name + ": all " + std::to_string(slotCount) + " slots are taken");
  file.refusal.clear();
  file.id = result.idiom->id;
  file.text = text;
  if (first && isShippedId(file.id))
    messages.push_back(name + ": an idiom that comes with Seguente has the id \"" + file.id +
                       "\" too; yours stands beside it");
  shown = true;
  if (texts[*file.slot] == text && filled(*file.slot))
    origins[*file.slot] = SlotOrigin::yours;
  else
    put(*file.slot, SlotOrigin::yours, std::move(result.idiom));
}

std::optional<std::size_t> Shelf::Body::slotFor(const std::string& id) const {
  std::optional<std::size_t> free;
  for (std::size_t slot = slotCount; slot-- > 0;) {
    if (shippedIn(slot) != nullptr) continue;
    if (origins[slot] == SlotOrigin::session && ids[slot] == id && !installedIn(slot)) return slot;
    if (!filled(slot) && !free) free = slot;
  }
  return free;
}

}  // namespace seguente
