#include <algorithm>
#include <cctype>
#include <map>

#include "dsp/idiom_file.h"
#include "dsp/idiom_relatives.h"
#include "dsp/idiom_steps.h"

namespace seguente {
namespace {

std::string lowered(std::string_view text) {
  std::string low(text);
  for (auto& c : low) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return low;
}

/// Whether a word was meant as a path: then it is not sought among the names.
bool looksLikePath(std::string_view word) {
  return word.find('/') != std::string_view::npos || word.ends_with(".toml");
}

}  // namespace

struct IdiomLibrary::Body {
  /// What reading one file gave: once, also when it failed, so that no file is read twice.
  struct Shelf {
    std::unique_ptr<Idiom> idiom;
    std::vector<Fault> faults;  // of the file; with an idiom: advice about its relatives
  };

  std::vector<Entry> entries;
  std::map<std::filesystem::path, Shelf> read;

  const Entry* entry(std::string_view id) const {
    const auto found = std::find_if(entries.begin(), entries.end(), [&](const Entry& e) { return e.id == id; });
    return found == entries.end() ? nullptr : &*found;
  }

  /// Reads a file, or remembers it. Its relatives are read after it stands in the map, so families may be circular.
  Shelf& at(const std::filesystem::path& path) {
    const auto [place, fresh] = read.try_emplace(path);
    Shelf& shelf = place->second;  // map nodes stay where they are while others are added
    if (!fresh) return shelf;
    auto result = readIdiom(path);
    shelf.faults = std::move(result.faults);
    shelf.idiom = std::move(result.idiom);
    if (shelf.idiom) resolve(shelf, path);
    return shelf;
  }

  void resolve(Shelf& shelf, const std::filesystem::path& path) {
    for (auto& relative : shelf.idiom->relatives) {
      const auto advise = [&](std::string expected) {
        auto found = "relative " + textOf(relative.meter) + " = \"" + relative.id + "\"";
        shelf.faults.push_back({path.string(), 1, 1, std::move(found), std::move(expected)});
      };
      const Idiom* idiom = relative.id == shelf.idiom->id ? shelf.idiom.get() : relation(relative.id, path);
      if (idiom == nullptr)
        advise("an installed idiom without faults");
      else if (!fitsMeter(*idiom, relative.meter))
        advise("an idiom whose bar is a whole number of bars of " + textOf(relative.meter));
      else
        relative.idiom = idiom;
    }
  }

  /// A relative is sought on the shelf, then beside the file that names it.
  const Idiom* relation(const std::string& id, const std::filesystem::path& from) {
    if (const auto* known = entry(id)) return at(known->path).idiom.get();
    if (looksLikePath(id)) return nullptr;
    const auto beside = from.parent_path() / (id + ".toml");
    std::error_code error;
    return std::filesystem::is_regular_file(beside, error) ? at(beside).idiom.get() : nullptr;
  }

  /// The entry whose title or other name this is. Reads files until one fits: ids are asked first.
  const Entry* byName(std::string_view name) {
    const auto sought = lowered(name);
    for (const auto& e : entries) {
      const auto* idiom = at(e.path).idiom.get();
      if (idiom == nullptr) continue;
      if (lowered(idiom->title) == sought) return &e;
      for (const auto& other : idiom->also)
        if (lowered(other) == sought) return &e;
    }
    return nullptr;
  }
};

IdiomLibrary::IdiomLibrary(const std::vector<std::filesystem::path>& folders) : body_(std::make_unique<Body>()) {
  std::map<std::string, std::filesystem::path> byId;
  for (const auto& folder : folders) {
    std::error_code error;
    std::filesystem::directory_iterator files(folder, error), end;
    for (; !error && files != end; files.increment(error)) {
      const auto& path = files->path();
      std::error_code kind;
      if (path.extension() == ".toml" && files->is_regular_file(kind)) byId[path.stem().string()] = path;
    }
  }
  for (const auto& [id, path] : byId) body_->entries.push_back({id, path});
}

IdiomLibrary::~IdiomLibrary() = default;

const std::vector<IdiomLibrary::Entry>& IdiomLibrary::entries() const { return body_->entries; }

const Idiom* IdiomLibrary::find(std::string_view idOrPath, std::vector<Fault>& faults) {
  const auto take = [&](const std::filesystem::path& path) {
    const auto& shelf = body_->at(path);
    faults.insert(faults.end(), shelf.faults.begin(), shelf.faults.end());
    return shelf.idiom.get();
  };
  if (looksLikePath(idOrPath)) return take(std::filesystem::path(std::string(idOrPath)));
  const auto* entry = body_->entry(lowered(idOrPath));
  if (entry == nullptr) entry = body_->byName(idOrPath);
  if (entry != nullptr) return take(entry->path);
  const auto near = nearest(idOrPath);
  faults.push_back({std::string(idOrPath), 1, 1, "no idiom of this name",
                    near.empty() ? "an installed idiom or a pattern file" : "\"" + near + "\""});
  return nullptr;
}

std::string IdiomLibrary::nearest(std::string_view id) const {
  std::vector<std::string> names;  // ids and every other name; owner[i] is the id that names[i] leads to
  std::vector<std::string_view> owner;
  for (const auto& e : body_->entries) {
    names.push_back(e.id);
    owner.push_back(e.id);
    const auto* idiom = body_->at(e.path).idiom.get();
    if (idiom == nullptr) continue;
    names.push_back(lowered(idiom->title));
    owner.push_back(e.id);
    for (const auto& other : idiom->also) {
      names.push_back(lowered(other));
      owner.push_back(e.id);
    }
  }
  const std::vector<std::string_view> words(names.begin(), names.end());
  const auto near = nearestWord(lowered(id), words);
  for (std::size_t i = 0; i < names.size(); ++i)
    if (!near.empty() && names[i] == near) return std::string(owner[i]);
  return {};
}

}  // namespace seguente
