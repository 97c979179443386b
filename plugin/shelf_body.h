// The inside of a shelf: what stands in each slot and why. Not thread-safe: Shelf holds its mutex around every call.
// Table in shelf.cpp, the player's files in shelf_files.cpp, sessions in shelf_session.cpp. [message]
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/idiom_file.h"
#include "dsp/idiom_relatives.h"
#include "plugin/own_folder.h"
#include "plugin/shelf.h"
#include "plugin/shipped_idioms.h"

namespace seguente {

/// One of the player's files: which slot it fills, and with what.
struct OwnFile {
  std::optional<std::size_t> slot;  // none: never good yet, or no slot was free
  std::string id, text;             // as last good
  std::string refusal;              // the last message, so that it is not repeated
};

struct Shelf::Body {
  Body(std::filesystem::path path, Handoff<SlotTable>& to) : folder(std::move(path)), handoff(to) {}

  OwnFolder folder;
  Handoff<SlotTable>& handoff;
  RelatedIdioms idioms;
  std::array<SlotOrigin, slotCount> origins{};
  // Of what stands in each slot, before and after idioms.resolve(). Empty before open(): hosts that only look make and
  // throw away many.
  std::vector<std::string> texts, ids;
  std::map<std::string, OwnFile> files;
  std::vector<std::string> messages;
  std::vector<std::size_t> lentOrder;
  std::uint32_t changes = 0;
  bool opened = false;
  bool shown = false;  // something to show has changed that changes no idiom

  // The table
  void open();
  bool filled(std::size_t slot) const { return origins[slot] != SlotOrigin::empty; }
  /// False, with a message, when the text is no good; the slot then keeps what it has.
  bool fill(std::size_t slot, SlotOrigin origin, std::string_view text, const std::string& name);
  void put(std::size_t slot, SlotOrigin origin, std::unique_ptr<Idiom> idiom);
  /// A new table, if any idiom or the order is another than before.
  bool lend();
  std::vector<std::size_t> order() const;

  // The player's folder
  void lookAtFolder();
  void gone(const std::string& name, OwnFile& file);
  void refuse(OwnFile& file, std::string why);
  void written(const std::string& name, const std::string& text, OwnFile& file);
  /// Where the session that is open has the idiom of a new file, else a free slot.
  std::optional<std::size_t> slotFor(const std::string& id) const;

  // A session
  using Wanted = std::array<const SavedSlot*, slotCount>;
  struct Installed {
    SlotOrigin origin;
    std::string_view text;
    std::string name;
  };
  void restore(const std::vector<SavedSlot>& saved);
  std::optional<Installed> installedIn(std::size_t slot) const;
  void install(std::size_t slot, const std::optional<Installed>& installed);
  void restoreSlot(std::size_t slot, const SavedSlot& saved, const std::optional<Installed>& installed,
                   std::vector<std::string>& differ, std::vector<std::string>& missing);
  /// An own file goes where the session knows its id, and makes room for another idiom of the session.
  void moveFiles(const Wanted& wanted);
  std::optional<std::size_t> knownAs(const OwnFile& file, const Wanted& wanted) const;
};

/// Null when nothing that is shipped stands there. [any]
const ShippedIdiom* shippedIn(std::size_t slot) noexcept;
/// The first fault, and how many more there are.
std::string told(const std::vector<Fault>& faults);

}  // namespace seguente
