#include "plugin/editor/keep_own.h"

#include <algorithm>

#include "dsp/idiom_file.h"
#include "dsp/notate/notate.h"
#include "plugin/editor/lettering.h"
#include "plugin/editor/strings.h"
#include "plugin/own_files.h"
#include "plugin/processor.h"

namespace seguente::screen {
namespace {

bool taken(const Shelf& shelf, const std::string& id, const std::string& title) {
  std::error_code none;
  if (std::filesystem::exists(ownFile(shelf.folder(), id), none)) return true;
  const auto slots = shelf.filled();
  return std::any_of(slots.begin(), slots.end(), [&](std::size_t slot) {
    const auto entry = shelf.entry(slot);
    return entry.id == id || entry.title == title;
  });
}

/// For a name without a Latin letter or a figure.
std::string freeId(const Shelf& shelf) {
  for (int n = 1;; ++n)
    if (auto id = numberedId(n); !taken(shelf, id, {})) return id;
}

}  // namespace

std::string keepOwn(Processor& processor, const std::string& name,
                    const std::function<std::string(const std::string&, const std::string&)>& textFor) {
  auto& shelf = processor.shelf();
  const auto title = plain(name).trim().toStdString();
  if (title.empty()) return words::nameIsMissing;
  auto id = notate::idFrom(title);
  if (id.empty()) id = freeId(shelf);
  if (taken(shelf, id, title)) return words::nameIsTaken;
  if (shelf.filled().size() == slotCount) return words::shelfIsFull;
  const auto text = textFor(id, title);
  if (!compileIdiom(text, ownFile({}, id).string()).idiom) return words::unreadPlayedIn;
  if (const auto kept = keepNew(shelf.folder(), id, text); kept != Kept::kept)
    return kept == Kept::taken ? words::nameIsTaken : words::cannotBeKept;
  shelf.look();
  for (const auto slot : shelf.filled()) {
    if (const auto entry = shelf.entry(slot); entry.id != id || entry.origin != SlotOrigin::yours) continue;
    auto& host = processor.hostParameter(ParameterId::idiom);
    host.beginChangeGesture();
    host.setValueNotifyingHost(host.convertTo0to1(static_cast<float>(slot)));
    host.endChangeGesture();
  }
  return {};
}

}  // namespace seguente::screen
