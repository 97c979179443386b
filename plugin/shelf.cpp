#include "plugin/shelf.h"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <optional>

#include "dsp/idiom_file.h"
#include "dsp/idiom_relatives.h"
#include "plugin/own_folder.h"
#include "plugin/shipped_idioms.h"

namespace seguente {
namespace {

const ShippedIdiom* shippedIn(std::size_t slot) noexcept {
  for (const auto& shipped : shippedIdioms())
    if (shipped.slot == slot) return &shipped;
  return nullptr;
}

bool isShippedId(std::string_view id) {
  const auto all = shippedIdioms();
  return std::any_of(all.begin(), all.end(), [id](const ShippedIdiom& s) { return id == s.id; });
}

/// The first fault, and how many more there are.
std::string told(const std::vector<Fault>& faults) {
  auto text = faults.front().text();
  if (faults.size() > 1) text += " (and " + std::to_string(faults.size() - 1) + " more)";
  return text;
}

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const auto& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

}  // namespace

/// One of the player's files: which slot it fills, and with what.
struct OwnFile {
  std::optional<std::size_t> slot;  // none: never good yet, or no slot was free
  std::string id, text;             // as last good
  std::string refusal;              // the last message, so that it is not repeated
};

/// What is lent, and what keeps it alive.
struct Lending {
  SlotTable table;
  std::vector<std::shared_ptr<const Idiom>> owners;
};

struct Shelf::Body {
  Body(std::filesystem::path path, Handoff<SlotTable>& to) : folder(std::move(path)), handoff(to) {}

  OwnFolder folder;
  Handoff<SlotTable>& handoff;
  RelatedIdioms idioms;
  std::array<SlotOrigin, slotCount> origins{};
  std::map<std::string, OwnFile> files;
  std::vector<std::string> messages;
  std::uint32_t changes = 0;
  bool opened = false;
  bool shown = false;  // something to show has changed that changes no idiom

  bool filled(std::size_t slot) const { return origins[slot] != SlotOrigin::empty; }

  void open() {
    if (opened) return;
    opened = true;
    for (const auto& shipped : shippedIdioms())
      fill(shipped.slot, SlotOrigin::shipped, shipped.text, std::string(shipped.id) + ".toml");
    lookAtFolder();
    lend();
  }

  /// False, with a message, when the text is no good; the slot then keeps what it has.
  bool fill(std::size_t slot, SlotOrigin origin, std::string_view text, const std::string& name) {
    auto result = compileIdiom(text, name);
    if (!result.idiom) {
      messages.push_back(told(result.faults));
      return false;
    }
    put(slot, origin, std::move(result.idiom));
    return true;
  }

  void put(std::size_t slot, SlotOrigin origin, std::unique_ptr<Idiom> idiom) {
    origins[slot] = origin;
    texts[slot] = idiom ? idiom->text : std::string{};
    ids[slot] = idiom ? idiom->id : std::string{};
    idioms.put(slot, std::move(idiom));
  }

  /// A new table, if any idiom is another than before.
  bool lend() {
    std::vector<Fault> advice;
    const bool fresh = idioms.resolve(advice);
    for (const auto& fault : advice)
      messages.push_back(fault.file + ": found " + fault.found + ", expected " + fault.expected);
    if (fresh || shown) ++changes;
    shown = false;
    auto list = order();
    if (!fresh && list == lentOrder) return false;
    lentOrder = std::move(list);
    auto lending = std::make_shared<Lending>();
    for (const auto slot : lentOrder) lending->table.order[lending->table.filled++] = static_cast<std::uint8_t>(slot);
    for (std::size_t slot = 0; slot < slotCount; ++slot) {
      auto idiom = idioms.at(slot);
      lending->table.idioms[slot] = idiom.get();
      if (idiom) lending->owners.push_back(std::move(idiom));
    }
    handoff.publish(&lending->table, lending);
    return true;
  }

  std::vector<std::size_t> order() const {
    std::vector<std::size_t> slots;
    for (std::size_t slot = 0; slot < slotCount; ++slot)
      if (filled(slot) && shippedIn(slot) != nullptr) slots.push_back(slot);
    for (const auto origin : {SlotOrigin::yours, SlotOrigin::session})
      for (std::size_t slot = slotCount; slot-- > 0;)
        if (origins[slot] == origin && shippedIn(slot) == nullptr) slots.push_back(slot);
    return slots;
  }

  // The player's folder

  void lookAtFolder() {
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

  void gone(const std::string& name, OwnFile& file) {
    file.refusal.clear();
    if (file.slot) messages.push_back(name + " is gone; its idiom stays until this session is closed");
  }

  void refuse(OwnFile& file, std::string why) {
    if (file.slot) why += "; what it was before plays on";
    if (why != file.refusal) messages.push_back(why);
    file.refusal = std::move(why);
  }

  void written(const std::string& name, const std::string& text, OwnFile& file) {
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

  /// Where the session that is open has the idiom of a new file, else a free slot.
  std::optional<std::size_t> slotFor(const std::string& id) const {
    std::optional<std::size_t> free;
    for (std::size_t slot = slotCount; slot-- > 0;) {
      if (shippedIn(slot) != nullptr) continue;
      if (origins[slot] == SlotOrigin::session && ids[slot] == id && !installedIn(slot)) return slot;
      if (!filled(slot) && !free) free = slot;
    }
    return free;
  }

  // A session

  using Wanted = std::array<const SavedSlot*, slotCount>;

  void restore(const std::vector<SavedSlot>& saved) {
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
    if (!differ.empty())
      messages.push_back("Played as this session was saved, not as installed here: " + joined(differ));
    if (!missing.empty()) messages.push_back("Not installed here, played from this session: " + joined(missing));
  }

  struct Installed {
    SlotOrigin origin;
    std::string_view text;
    std::string name;
  };

  std::optional<Installed> installedIn(std::size_t slot) const {
    if (const auto* shipped = shippedIn(slot))
      return Installed{SlotOrigin::shipped, shipped->text, std::string(shipped->id) + ".toml"};
    for (const auto& [name, file] : files)
      if (file.slot == slot) return Installed{SlotOrigin::yours, file.text, name};
    return std::nullopt;
  }

  void install(std::size_t slot, const std::optional<Installed>& installed) {
    if (!installed) {
      if (filled(slot)) put(slot, SlotOrigin::empty, nullptr);
    } else if (filled(slot) && texts[slot] == installed->text) {
      shown = shown || origins[slot] != installed->origin;
      origins[slot] = installed->origin;
    } else {
      fill(slot, installed->origin, installed->text, installed->name);
    }
  }

  void restoreSlot(std::size_t slot, const SavedSlot& saved, const std::optional<Installed>& installed,
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

  /// An own file goes where the session knows its id, and makes room for another idiom of the session.
  void moveFiles(const Wanted& wanted) {
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

  std::optional<std::size_t> knownAs(const OwnFile& file, const Wanted& wanted) const {
    const auto same = [&](std::size_t slot) { return wanted[slot] != nullptr && wanted[slot]->id == file.id; };
    if (same(*file.slot)) return file.slot;
    for (std::size_t slot = slotCount; slot-- > 0;)
      if (same(slot) && shippedIn(slot) == nullptr && !installedIn(slot)) return slot;
    return std::nullopt;
  }

  std::array<std::string, slotCount> texts, ids;  // of what stands in each slot, before and after resolve()
  std::vector<std::size_t> lentOrder;
};

std::size_t SlotTable::beside(std::size_t slot, int way) const noexcept {
  if (filled == 0) return slot;
  for (std::size_t i = 0; i < filled; ++i)
    if (order[i] == slot) return order[(i + filled + static_cast<std::size_t>(way > 0 ? 1 : filled - 1)) % filled];
  return way > 0 ? order[0] : order[filled - 1];
}

const char* shippedTitle(std::size_t slot) noexcept {
  const auto* shipped = shippedIn(slot);
  return shipped == nullptr ? "" : shipped->title;
}

Shelf::Shelf(std::filesystem::path folder) : body_(std::make_unique<Body>(std::move(folder), handoff_)) {}
Shelf::~Shelf() = default;

void Shelf::open() {
  const std::scoped_lock lock(mutex_);
  body_->open();
}

bool Shelf::look() {
  const std::scoped_lock lock(mutex_);
  handoff_.collect();
  if (!body_->opened) return false;
  body_->lookAtFolder();
  return body_->lend();
}

void Shelf::restore(const std::vector<SavedSlot>& saved) {
  const std::scoped_lock lock(mutex_);
  body_->open();
  if (saved.empty()) return;
  body_->restore(saved);
  body_->lend();
}

std::vector<SavedSlot> Shelf::save() {
  const std::scoped_lock lock(mutex_);
  body_->open();
  std::vector<SavedSlot> saved;
  for (std::size_t slot = 0; slot < slotCount; ++slot)
    if (const auto idiom = body_->idioms.at(slot)) saved.push_back({static_cast<int>(slot), idiom->id, idiom->text});
  return saved;
}

SlotEntry Shelf::entry(std::size_t slot) const {
  const std::scoped_lock lock(mutex_);
  const auto idiom = slot < slotCount ? body_->idioms.at(slot) : nullptr;
  if (!idiom) return {};
  return {body_->origins[slot], idiom->id, idiom->title, idiom->about, idiom->meter};
}

std::vector<std::size_t> Shelf::filled() const {
  const std::scoped_lock lock(mutex_);
  return body_->order();
}

std::vector<std::string> Shelf::takeMessages() {
  const std::scoped_lock lock(mutex_);
  return std::exchange(body_->messages, {});
}

std::uint32_t Shelf::changes() const {
  const std::scoped_lock lock(mutex_);
  return body_->changes;
}

std::filesystem::path ownIdiomsFolder() {
  const auto from = [](const char* name) {
    const char* value = std::getenv(name);
    const std::filesystem::path path(value == nullptr ? "" : value);
    return path.is_absolute() ? path
                              : std::filesystem::path{};  // the XDG base directory specification: others are void
  };
  if (const auto data = from("XDG_DATA_HOME"); !data.empty()) return data / "seguente" / "idioms";
  if (const auto home = from("HOME"); !home.empty()) return home / ".local" / "share" / "seguente" / "idioms";
  return {};
}

}  // namespace seguente
