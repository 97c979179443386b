#include "plugin/shelf.h"

#include <cstdlib>
#include <utility>

#include "plugin/shelf_body.h"

namespace seguente {

const ShippedIdiom* shippedIn(std::size_t slot) noexcept {
  for (const auto& shipped : shippedIdioms())
    if (shipped.slot == slot) return &shipped;
  return nullptr;
}

std::string told(const std::vector<Fault>& faults) {
  auto text = faults.front().text();
  if (faults.size() > 1) text += " (and " + std::to_string(faults.size() - 1) + " more)";
  return text;
}

namespace {

/// What is shipped, compiled once in a process and shared by all its instances: nobody can change it.
const RelatedIdioms& shippedCompiled() {
  static const RelatedIdioms compiled = [] {
    RelatedIdioms idioms;
    for (const auto& shipped : shippedIdioms())
      idioms.put(shipped.slot, compileIdiom(shipped.text, std::string(shipped.id) + ".toml").idiom);
    std::vector<Fault> advice;  // a test sees to it that there is none
    idioms.resolve(advice);
    return idioms;
  }();
  return compiled;
}

/// What is lent, and what keeps it alive.
struct Lending {
  SlotTable table;
  std::vector<std::shared_ptr<const Idiom>> owners;
};

}  // namespace

void Shelf::Body::open() {
  if (opened) return;
  opened = true;
  texts.resize(slotCount);
  ids.resize(slotCount);
  idioms.beginWith(shippedCompiled());
  for (const auto& shipped : shippedIdioms()) {
    if (!idioms.at(shipped.slot)) continue;
    origins[shipped.slot] = SlotOrigin::shipped;
    texts[shipped.slot] = shipped.text;
    ids[shipped.slot] = shipped.id;
  }
  lookAtFolder();
  lend();
}

bool Shelf::Body::fill(std::size_t slot, SlotOrigin origin, std::string_view text, const std::string& name) {
  auto result = compileIdiom(text, name);
  if (!result.idiom) {
    messages.push_back(told(result.faults));
    return false;
  }
  put(slot, origin, std::move(result.idiom));
  return true;
}

void Shelf::Body::put(std::size_t slot, SlotOrigin origin, std::unique_ptr<Idiom> idiom) {
  origins[slot] = origin;
  texts[slot] = idiom ? idiom->text : std::string{};
  ids[slot] = idiom ? idiom->id : std::string{};
  idioms.put(slot, std::move(idiom));
}

bool Shelf::Body::lend() {
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

std::vector<std::size_t> Shelf::Body::order() const {
  std::vector<std::size_t> slots;
  for (std::size_t slot = 0; slot < slotCount; ++slot)
    if (filled(slot) && shippedIn(slot) != nullptr) slots.push_back(slot);
  for (const auto origin : {SlotOrigin::yours, SlotOrigin::session})
    for (std::size_t slot = slotCount; slot-- > 0;)
      if (origins[slot] == origin && shippedIn(slot) == nullptr) slots.push_back(slot);
  return slots;
}

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

Shelf::Shelf(std::filesystem::path folder)
    : folder_(std::move(folder)), body_(std::make_unique<Body>(folder_, handoff_)) {}
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

std::vector<SavedSlot> Shelf::save(const SlotSet& inUse) {
  const std::scoped_lock lock(mutex_);
  body_->open();
  std::vector<SavedSlot> saved;
  for (std::size_t slot = 0; slot < slotCount; ++slot)
    if (const auto idiom = body_->idioms.at(slot);
        idiom && (inUse[slot] || body_->origins[slot] != SlotOrigin::shipped))
      saved.push_back({static_cast<int>(slot), idiom->id, idiom->text});
  return saved;
}

SlotEntry Shelf::entry(std::size_t slot) const {
  const std::scoped_lock lock(mutex_);
  const auto idiom = slot < slotCount ? body_->idioms.at(slot) : nullptr;
  if (!idiom) return {};
  return {body_->origins[slot], idiom->id, idiom->title, idiom->about, idiom->anyMeter ? Meter{0, 0} : idiom->meter};
}

std::shared_ptr<const Idiom> Shelf::idiom(std::size_t slot) const {
  const std::scoped_lock lock(mutex_);
  return body_->opened && slot < slotCount ? body_->idioms.at(slot) : nullptr;
}

Shelf::Text Shelf::text(std::size_t slot) const {
  const std::scoped_lock lock(mutex_);
  if (!body_->opened || slot >= slotCount || !body_->filled(slot)) return {};
  Text text{body_->texts[slot], {}};
  if (body_->origins[slot] == SlotOrigin::yours)
    for (const auto& [name, file] : body_->files)
      if (file.slot == slot) text.file = folder_ / name;
  return text;
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
  // As texts, and a path but once: hosts make and throw away instances by the hundred when they scan.
  const auto from = [](const char* name, const char* below) -> std::string {
    const char* value = std::getenv(name);
    // The XDG base directory specification: a folder that is not absolute is void.
    return value != nullptr && value[0] == '/' ? std::string(value) + below : std::string();
  };
  auto folder = from("XDG_DATA_HOME", "/seguente/idioms");
  if (folder.empty()) folder = from("HOME", "/.local/share/seguente/idioms");
  return folder;
}

}  // namespace seguente
