#include "plugin/orders.h"

#include <algorithm>
#include <fstream>
#include <system_error>
#include <utility>

#include "plugin/shelf_body.h"

namespace seguente {

namespace fs = std::filesystem;

void Orders::useFolder(const fs::path& folder) {
  const std::scoped_lock lock(mutex_);
  if (folder_) return;
  path_ = folder;
  folder_.emplace(folder);
}

bool Orders::look() {
  const std::scoped_lock lock(mutex_);
  box_.collect();
  const auto before = changes_;
  lookAtFolder();
  if (const auto shelf = shelf_.changes(); shelf != shelfSeen_) {
    shelfSeen_ = shelf;
    if (order_) box_.replace(resolved(*order_, nullptr));
    ++changes_;
  }
  return changes_ != before;
}

void Orders::lookAtFolder() {
  if (!folder_) return;
  const bool first = !std::exchange(looked_, true);
  const auto changed = folder_->look();
  for (const auto& change : changed) {
    if (change.event == FileEvent::gone) {
      texts_.erase(change.name);
      titles_.erase(change.name);
      continue;
    }
    if (change.event == FileEvent::unreadable) {
      messages_.push_back(change.name + ": this file cannot be read");
      titles_[change.name].clear();
      continue;
    }
    const auto read = readOrder(change.text, change.name);
    titles_[change.name] = read.order ? read.order->title : std::string();
    texts_[change.name] = change.text;
    const bool open = !first && order_ && change.name == name_ && change.text != text_;
    if (!read.order)
      messages_.push_back(told(read.faults) + (open ? "; what it was before stays open" : ""));
    else if (open)
      takeChanged(change.text);
  }
  if (!changed.empty()) ++changes_;
}

/// The open file has been saved anew: one stays where one was, by the preset's title if it has moved.
void Orders::takeChanged(const std::string& text) {
  auto order = std::make_shared<RunningOrder>(*readOrder(text, name_).order);
  const int place = box_.place();
  const auto& before = order_->presets;
  int there = std::clamp(place, 0, static_cast<int>(order->presets.size()) - 1);
  if (place >= 0 && place < static_cast<int>(before.size())) {
    const auto& title = before[static_cast<std::size_t>(place)].title;
    if (order->presets[static_cast<std::size_t>(there)].title != title)
      for (std::size_t i = 0; i < order->presets.size(); ++i)
        if (order->presets[i].title == title) there = static_cast<int>(i);
  }
  text_ = text;
  order_ = std::move(order);
  std::vector<std::string> missing;
  auto table = resolved(*order_, &missing);
  for (auto& message : missing) messages_.push_back(std::move(message));
  if (there == place)
    box_.replace(std::move(table));
  else
    box_.lend(std::move(table), there, false);
}

std::vector<OrderEntry> Orders::entries() const {
  const std::scoped_lock lock(mutex_);
  std::vector<OrderEntry> all;
  for (const auto& [name, title] : titles_) all.push_back({name, title});
  std::stable_sort(all.begin(), all.end(), [](const OrderEntry& a, const OrderEntry& b) {
    return a.title.empty() != b.title.empty() ? b.title.empty() : a.title < b.title;
  });
  return all;
}

std::string Orders::open(const std::string& name) {
  const std::scoped_lock lock(mutex_);
  lookAtFolder();
  const auto found = texts_.find(name);
  if (found == texts_.end()) return name + ": this file cannot be read";
  return take(found->second, name, 0, true);
}

std::string Orders::take(const std::string& text, const std::string& name, int place, bool apply) {
  auto read = readOrder(text, name);
  if (!read.order) return told(read.faults);
  order_ = std::make_shared<RunningOrder>(std::move(*read.order));
  name_ = name;
  text_ = text;
  std::vector<std::string> missing;
  auto table = resolved(*order_, &missing);
  for (auto& message : missing) messages_.push_back(std::move(message));
  box_.lend(std::move(table), std::clamp(place, 0, static_cast<int>(order_->presets.size()) - 1), apply);
  ++changes_;
  return {};
}

void Orders::close() {
  const std::scoped_lock lock(mutex_);
  if (!order_) return;
  order_.reset();
  name_.clear();
  text_.clear();
  box_.lend(nullptr, -1, false);
  ++changes_;
}

void Orders::restore(const std::optional<SavedOrder>& saved) {
  if (!saved) return close();
  std::string fault;
  {
    const std::scoped_lock lock(mutex_);
    fault = take(saved->text, saved->name, saved->place, false);
    if (!fault.empty()) messages_.push_back("The running order of this session is not opened: " + fault);
  }
  if (!fault.empty()) close();
}

std::optional<SavedOrder> Orders::save() const {
  const std::scoped_lock lock(mutex_);
  if (!order_) return {};
  return SavedOrder{name_, text_, std::max(0, box_.place())};
}

std::shared_ptr<const RunningOrder> Orders::current() const {
  const std::scoped_lock lock(mutex_);
  return order_;
}

std::string Orders::name() const {
  const std::scoped_lock lock(mutex_);
  return name_;
}

/// Each idiom by its id: the lowest slot that has it, as relatives are sought.
std::shared_ptr<const OrderTable> Orders::resolved(const RunningOrder& order, std::vector<std::string>* missing) const {
  auto table = std::make_shared<OrderTable>();
  std::map<std::string, int> slots;
  for (std::size_t slot = slotCount; slot-- > 0;)
    if (const auto entry = shelf_.entry(slot); entry.origin != SlotOrigin::empty)
      slots[entry.id] = static_cast<int>(slot);
  for (const auto& row : parameterTable())
    if (order.names(row.which)) table->named.set(static_cast<std::size_t>(row.which));
  for (std::size_t i = 0; i < order.presets.size(); ++i) {
    const auto& preset = order.presets[i];
    OrderTable::Step step;
    const auto found = slots.find(preset.idiom);
    if (found != slots.end()) step.slot = static_cast<std::int16_t>(found->second);
    if (found == slots.end() && missing != nullptr)
      missing->push_back(name_ + ":" + std::to_string(preset.line) + ":1: found no idiom \"" + preset.idiom +
                         "\" for " + preset.title + ", expected its file among your own; the idiom before it plays on");
    for (const auto& row : parameterTable())
      step.values[static_cast<std::size_t>(row.which)] = static_cast<float>(order.valueIn(i, row.which));
    table->steps.push_back(step);
  }
  return table;
}

std::string Orders::add(const std::string& title, const std::string& idiom, const ParameterValues& values) {
  const std::scoped_lock lock(mutex_);
  if (!order_) return "no running order is open";
  const auto more = presetText(title, idiom, values, order_.get());
  const auto whole = text_ + (text_.ends_with('\n') ? "" : "\n") + more;
  if (const auto read = readOrder(whole, name_); !read.order) return told(read.faults);
  const auto there = texts_.find(name_);
  if (there == texts_.end() || there->second != text_)
    return name_ + ": the file is not as it is open here; open it anew first";
  if (!append(name_, (text_.ends_with('\n') ? "" : "\n") + more)) return name_ + ": it cannot be written";
  lookAtFolder();
  return {};
}

std::string Orders::begin(const std::string& orderTitle, const std::string& title, const std::string& idiom,
                          const ParameterValues& values) {
  const std::scoped_lock lock(mutex_);
  if (path_.empty()) return "there is no folder of your own";
  std::error_code error;
  fs::create_directories(path_, error);
  std::string name = "order.toml";
  for (int n = 2; fs::exists(path_ / name, error) && n < 1000; ++n) name = "order-" + std::to_string(n) + ".toml";
  const auto text = orderHead(orderTitle) + presetText(title, idiom, values, nullptr);
  if (!append(name, text)) return name + ": it cannot be written";
  lookAtFolder();
  return take(text, name, 0, false);
}

/// To the end of the file, which may be a new one: nothing that stands there is touched.
bool Orders::append(const std::string& name, const std::string& text) const {
  std::ofstream file(path_ / name, std::ios::binary | std::ios::app);
  file << text;
  file.close();
  return !file.fail();
}

std::vector<std::string> Orders::takeMessages() {
  const std::scoped_lock lock(mutex_);
  return std::exchange(messages_, {});
}

std::uint32_t Orders::changes() const {
  const std::scoped_lock lock(mutex_);
  return changes_;
}

fs::path ownOrdersFolder() {
  const auto idioms = ownIdiomsFolder();
  return idioms.empty() ? idioms : idioms.parent_path() / "orders";
}

}  // namespace seguente
