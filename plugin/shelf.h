// The idioms of one instance in 128 slots that keep their meaning for ever, lent to the audio thread as one table.
//
// Shipped idioms stand in the slots that patterns/slots.txt gives them (in the binary, no file is opened for them). The
// player's own, from a folder, take free slots from the top down as they appear, and keep them while the instance
// lives. An own file whose id is a shipped one's stands beside it, and a message says so; relatives are sought by id,
// first in the lowest slot.
//
// A session's state names id and text of every slot in use: where they differ from what is installed here, the
// session's own text wins, and a message says so, until the player saves the file again. An own file moves to the slot
// in which the session knows its id, or out of one that the session needs.
//
// When a file changes, its slot is compiled anew and a new table is lent; what did not change is the very same object,
// so nothing jolts. A bad file is refused with its message, the old one plays on. A file that is deleted leaves its
// idiom in its slot: a session may depend on it.
#pragma once

#include <array>
#include <filesystem>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "dsp/handoff.h"
#include "dsp/idiom.h"
#include "plugin/slots.h"

namespace seguente {

/// What the audio thread reads. [audio]
struct SlotTable {
  std::array<const Idiom*, slotCount> idioms{};  // null where a slot is empty
  std::array<std::uint8_t, slotCount> order{};   // the filled slots as a list shows them
  std::size_t filled = 0;                        // so many are in order

  /// The slot that stands before (way -1) or behind (1) another in the list, round its ends; from an empty slot the
  /// last or the first; the slot itself when all are empty.
  std::size_t beside(std::size_t slot, int way) const noexcept;
};

enum class SlotOrigin : std::uint8_t { empty, shipped, yours, session };

/// One slot as a list shows it. [message]
struct SlotEntry {
  SlotOrigin origin = SlotOrigin::empty;
  std::string id, title, about;
  Meter meter{};  // not valid when the idiom plays in any
};

/// One slot as a state keeps it. [message]
struct SavedSlot {
  int slot = 0;  // 0..127
  std::string id;
  std::string text;  // the whole pattern file
};

/// Title of the shipped idiom in a slot, "" when none: known without opening the shelf (hosts scan). [any]
const char* shippedTitle(std::size_t slot) noexcept;

/// Every function but table() may be called from any thread but the audio thread: one mutex inside.
class Shelf {
 public:
  /// Opens and compiles nothing. folder: the player's own idioms; may be missing, may be empty (no folder).
  explicit Shelf(std::filesystem::path folder);
  ~Shelf();
  /// Compiles what is shipped and reads the folder, once; later calls do nothing.
  void open();
  /// Looks whether the folder has changed, and frees what the audio thread has let go of. Called by a timer; looks at
  /// no folder before open(). True when a new table is lent.
  bool look();
  /// The slots of a saved session, as a whole: a slot that it does not name holds what is installed, or nothing. Opens
  /// the shelf if needed. A text that does not compile is a message, and the slot keeps what it has. An empty list (a
  /// preset of settings alone) changes nothing.
  void restore(const std::vector<SavedSlot>& saved);
  /// Every slot that is not empty, ascending, but of what is shipped and plays as shipped only those that are in use:
  /// the others hold the same everywhere, slots.txt says so for ever. Opens the shelf if needed.
  std::vector<SavedSlot> save(const SlotSet& inUse = SlotSet().set());
  SlotEntry entry(std::size_t slot) const;
  /// What stands there, kept alive by whoever holds it; null when empty or not opened yet.
  std::shared_ptr<const Idiom> idiom(std::size_t slot) const;
  /// The whole pattern file as it stands there, and for the player's own its file (else empty): for whoever edits it.
  struct Text {
    std::string text;
    std::filesystem::path file;
  };
  Text text(std::size_t slot) const;
  const std::filesystem::path& folder() const noexcept { return folder_; }
  /// All filled slots in their order on the shelf: shipped by slot, then yours and the session's from the top down.
  std::vector<std::size_t> filled() const;
  /// Messages since the last call: files refused, texts of the session that won.
  std::vector<std::string> takeMessages();
  /// How often something was lent: the editor reads its list anew when this changes.
  std::uint32_t changes() const;

  /// The audio thread's end.
  Handoff<SlotTable>& lent() noexcept { return handoff_; }

 private:
  struct Body;
  std::filesystem::path folder_;
  mutable std::mutex mutex_;
  Handoff<SlotTable> handoff_;
  std::unique_ptr<Body> body_;
};

/// Where the player's own idioms lie: $XDG_DATA_HOME/seguente/idioms, else ~/.local/share/seguente/idioms; empty when
/// there is no home. [message]
std::filesystem::path ownIdiomsFolder();

}  // namespace seguente
