#include <array>
#include <cstdio>
#include <filesystem>
#include <utility>

#include "dsp/idiom_file.h"
#include "plugin/commandline/commands.h"
#include "plugin/commandline/foresee.h"
#include "plugin/commandline/output_file.h"
#include "plugin/commandline/performance.h"
#include "plugin/commandline/picture.h"
#include "plugin/commandline/render.h"
#include "plugin/commandline/rows.h"
#include "plugin/commandline/wav.h"

namespace seguente {

namespace {

/// A pattern file, not an id: as the library tells them apart.
bool isPath(const std::string& idiom) { return idiom.find('/') != std::string::npos || idiom.ends_with(".toml"); }

/// The idiom asked for, or null after a complaint.
const Idiom* findIdiom(IdiomLibrary& library, const std::string& name) {
  if (isPath(name)) {
    if (const auto why = whyNoFile(name); !why.empty()) {
      complain(why);
      return nullptr;
    }
  }
  std::vector<Fault> faults;
  const Idiom* idiom = library.find(name, faults);
  if (idiom != nullptr) return idiom;
  if (faults.size() == 1 && faults[0].file == name && !isPath(name)) {
    const std::string nearest = library.nearest(name);
    complain("no idiom is called \"" + name + "\"" + (nearest.empty() ? "" : "; did you mean \"" + nearest + "\"?") +
             " (seguente idioms lists them)");
  } else {
    for (const Fault& f : faults) std::fprintf(stderr, "%s\n", f.text().c_str());
  }
  return nullptr;
}

/// True when writing `a` could change what `b` holds: one file, by whatever path or link. A device is no file.
bool sameFile(const std::string& a, const std::string& b) {
  namespace fs = std::filesystem;
  if (a.empty() || b.empty()) return false;
  std::error_code none;
  const bool there = fs::exists(a, none);
  if (there != fs::exists(b, none)) return false;
  if (there) return (fs::is_regular_file(a, none) || fs::is_directory(a, none)) && fs::equivalent(a, b, none);
  const auto pathOf = [&](const std::string& path) { return fs::weakly_canonical(fs::absolute(path, none), none); };
  return pathOf(a) == pathOf(b);
}

/// A fault when a result would be written over what is read, or over another result; else "".
std::string clashOf(const RenderOptions& o) {
  using Named = std::pair<const char*, std::string>;
  const std::array<Named, 3> results{{{"-o", o.output}, {"--wav", o.wav}, {"--picture", o.picture}}};
  const std::array<Named, 4> sources{{{"the input", o.hearing.input},
                                      {"--chart", o.hearing.chart},
                                      {"--soundfont", o.soundfont},
                                      {"--idiom", isPath(o.idiom) ? o.idiom : ""}}};
  for (std::size_t i = 0; i < results.size(); ++i) {
    const auto& [option, path] = results[i];
    for (const auto& [source, read] : sources)
      if (sameFile(path, read))
        return std::string(option) + " " + path + ": is the same file as " + source + "; name another one to write";
    for (std::size_t k = 0; k < i; ++k)
      if (sameFile(path, results[k].second))
        return std::string(option) + " " + path + ": is the same file as " + results[k].first + "; name another one";
  }
  return {};
}

int writeAll(const RenderOptions& o, const Performance& p, const Rendering& r) {
  // The longest and likeliest to fail first: what goes wrong with it leaves the MIDI file as it was.
  if (!o.wav.empty())
    if (const auto fault = writeWav(p, r, {o.wav, o.soundfont, o.hearing.rate}); !fault.empty()) return complain(fault);
  if (!o.picture.empty()) {
    OutputFile picture(o.picture);
    picture.write(drawPicture(p, r));
    if (const auto fault = picture.commit(); !fault.empty()) return complain(fault);
  }
  if (!o.output.empty()) {
    OutputFile file(o.output);
    file.write(serializeMidi(arrangedFile(p, r, o.hearing.time)));
    if (interrupted()) return complain("interrupted; " + o.output + " is as it was");
    if (const auto fault = file.commit(); !fault.empty()) return complain(fault);
  }
  return exitDone;
}

}  // namespace

int commandRender(const RenderOptions& o, const IdiomFolders& folders) {
  if (const auto clash = clashOf(o); !clash.empty()) return complain(clash, exitBadWords);
  IdiomLibrary library(folders.folders);
  const Idiom* idiom = findIdiom(library, o.idiom);
  if (idiom == nullptr) return exitBadInput;
  auto performance = prepare(o.hearing, idiom);
  if (!performance.good()) return complain(performance.fault);
  for (const std::string& remark : performance.value->remarks) std::fprintf(stderr, "seguente: %s\n", remark.c_str());
  if (o.hearing.foresee) foresee(*performance.value, o.hearing.rate, o.hearing.block);
  const Rendering rendering = render(*performance.value, o.hearing.rate, o.hearing.block);
  if (const auto none = noChordsText(rendering, o.hearing); !none.empty()) complain(none);
  return writeAll(o, *performance.value, rendering);
}

}  // namespace seguente
