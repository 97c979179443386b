// A saved session on the shelf: its own texts, laid over what is installed.
#include <utility>

#include "plugin/shelf_body.h"

namespace seguente {

namespace {

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const auto& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

}  // namespace

void Shelf::Body::restore(const std::vector<SavedSlot>& saved) {
  Wanted wanted{};
  for (const auto& s : saved)
    if (s.slot >= 0 && s.slot < static_cast<int>(slotCount)) wanted[static_cast<std::size_t>(s.slot)] = &s;
  moveFiles(wanted);
  std::vector<std::string> differ, missing;
  for (std::size_t slot = 0; slot < slotCount; ++slot) {
    const auto installed = installedIn(slot);
    if (wanted[slot] == nullptr || (installed && installed->text == wanted[slot]->text))
      install(slot, installed);
    else
      restoreSlot(slot, *wanted[slot], installed, differ, missing);
  }
  if (!differ.empty()) messages.push_back("Played as this session was saved, not as installed here: " + joined(differ));
  if (!missing.empty()) messages.push_back("Not installed here, played from this session: " + joined(missing));
}

std::optional<Shelf::Body::Installed> Shelf::Body::installedIn(std::size_t slot) const {
  if (const auto* shipped = shippedIn(slot))
    return Installed{SlotOrigin::shipped, shipped->text, std::string(shipped->id) + ".toml"};
  for (const auto& [name, file] : files)
    if (file.slot == slot) return Installed{SlotOrigin::yours, file.text, name};
  return std::nullopt;
}

void Shelf::Body::install(std::size_t slot, const std::optional<Installed>& installed) {
  if (!installed) {
    if (filled(slot)) put(slot, SlotOrigin::empty, nullptr);
  } else if (filled(slot) && texts[slot] == installed->text) {
    shown = shown || origins[slot] != installed->origin;
    origins[slot] = installed->origin;
  } else {
    fill(slot, installed->origin, installed->text, installed->name);
  }
}

void Shelf::Body::restoreSlot(std::size_t slot, const SavedSlot& saved, const std::optional<Installed>& installed,
                              std::vector<std::string>& differ, std::vector<std::string>& missing) {
  auto result = compileIdiom(saved.text, saved.id + " of this session");
  if (!result.idiom) {
    messages.push_back(told(result.faults));
    if (!filled(slot)) install(slot, installed);
    return;
  }
  const bool same = filled(slot) && origins[slot] == SlotOrigin::session && texts[slot] == saved.text;
  if (same) return;  // told when it first came
  (installed ? differ : missing).push_back(result.idiom->title);
  shown = true;
  if (texts[slot] == saved.text && filled(slot))
    origins[slot] = SlotOrigin::session;
  else
    put(slot, SlotOrigin::session, std::move(result.idiom));
}

void Shelf::Body::moveFiles(const Wanted& wanted) {
  std::array<bool, slotCount> taken{};
  for (std::size_t slot = 0; slot < slotCount; ++slot) taken[slot] = wanted[slot] != nullptr || shippedIn(slot);
  std::vector<OwnFile*> homeless;
  for (auto& [name, file] : files) {
    if (!file.slot) continue;
    const auto known = knownAs(file, wanted);
    if (known)
      file.slot = known;
    else if (wanted[*file.slot] != nullptr)
      homeless.push_back(&file);
    taken[*file.slot] = true;
  }
  for (auto* file : homeless) {
    file->slot.reset();
    for (std::size_t slot = slotCount; slot-- > 0 && !file->slot;)
      if (!taken[slot]) file->slot = slot;
    if (file->slot)
      taken[*file->slot] = true;
    else
      messages.push_back(file->id + ": all slots are taken by this session; your file waits");
  }
}

std::optional<std::size_t> Shelf::Body::knownAs(const OwnFile& file, const Wanted& wanted) const {
  const auto same = [&](std::size_t slot) { return wanted[slot] != nullptr && wanted[slot]->id == file.id; };
  if (same(*file.slot)) return file.slot;
  for (std::size_t slot = slotCount; slot-- > 0;)
    if (same(slot) && shippedIn(slot) == nullptr && !installedIn(slot)) return slot;
  return std::nullopt;
}

}  // namespace seguente
