// The running orders of one instance: the files of the player's folder, and the one that is open, lent to the audio
// thread. Orders are known by the names of their files.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "plugin/order_table.h"
#include "plugin/own_folder.h"
#include "plugin/running_order.h"
#include "plugin/shelf.h"

namespace seguente {

/// A file of the folder as a list shows it. [message]
struct OrderEntry {
  std::string name;   // of the file
  std::string title;  // "" when it cannot be read
};

/// From any thread but the audio thread: one mutex inside, and the shelf's own.
class Orders {
 public:
  /// Touches nothing, and costs next to nothing: hosts make and throw away many.
  Orders(Shelf& shelf, OrderBox& box) : shelf_(shelf), box_(box) {}
  /// Where the files lie; once. May be missing, may be empty (no folder).
  void useFolder(const std::filesystem::path& folder);

  /// Looks whether files, or the shelf's idioms, have changed: an order that is open and saved anew is read anew, and
  /// one stays at the preset where one was. Called by a timer. True when something to show has changed.
  bool look();
  /// By title; those that cannot be read last.
  std::vector<OrderEntry> entries() const;

  /// Opens it at its first preset. "" when done, else the fault: what was open stays open.
  std::string open(const std::string& name);
  void close();
  /// As a session has it: nothing is set anew. Empty: none is open. A fault is a message, and none is open.
  void restore(const std::optional<SavedOrder>& saved);
  std::optional<SavedOrder> save() const;

  /// What is open; null when none is. Kept alive by whoever holds it.
  std::shared_ptr<const RunningOrder> current() const;
  std::string name() const;
  int place() const { return box_.place(); }
  /// With the next bar. [any]
  void choose(int place) { box_.choose(place); }
  /// Writes what is set now as one more preset to the end of the file that is open. "" when done, else why not.
  std::string add(const std::string& title, const std::string& idiom, const ParameterValues& values);
  /// A new file with this one preset, opened; its name is the first that is free.
  std::string begin(const std::string& orderTitle, const std::string& title, const std::string& idiom,
                    const ParameterValues& values);

  std::vector<std::string> takeMessages();
  /// Goes up with everything to show, but the place.
  std::uint32_t changes() const;

 private:
  void lookAtFolder();
  std::string take(const std::string& text, const std::string& name, int place, bool apply);
  void takeChanged(const std::string& text);
  std::shared_ptr<const OrderTable> resolved(const RunningOrder& order, std::vector<std::string>* missing) const;
  bool append(const std::string& name, const std::string& text) const;

  mutable std::mutex mutex_;
  Shelf& shelf_;
  OrderBox& box_;
  std::filesystem::path path_;
  std::optional<OwnFolder> folder_;
  std::map<std::string, std::string> texts_;   // of the files
  std::map<std::string, std::string> titles_;  // "" when faulty
  std::shared_ptr<const RunningOrder> order_;
  std::string name_, text_;  // of the one that is open
  std::vector<std::string> messages_;
  std::uint32_t changes_ = 0, shelfSeen_ = 0;
  bool looked_ = false;
};

/// Where the player's own running orders lie: beside the idioms, in `orders`. Empty when there is no home. [message]
std::filesystem::path ownOrdersFolder();

}  // namespace seguente
