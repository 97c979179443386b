// One function a command of the command line. Each returns an exit code and has said what there was to say.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "plugin/commandline/options.h"

namespace seguente {

/// Where idioms are sought; a later folder wins. [message]
struct IdiomFolders {
  std::vector<std::filesystem::path> folders;
};

/// The installed folder, the user's own ($XDG_DATA_HOME/seguente/patterns, then idioms, which the plugin reads too),
/// $SEGUENTE_PATTERNS, then `asked`. [message]
IdiomFolders idiomFolders(const std::vector<std::string>& asked);

int commandRender(const RenderOptions& options, const IdiomFolders& folders);
int commandChords(const HearingOptions& options);
int commandHands(const HearingOptions& options);
int commandIdioms(bool json, const IdiomFolders& folders);
int commandCheck(const std::vector<std::string>& files, const IdiomFolders& folders);

/// The words of `notate`, as typed. Empty: not given. [any]
struct NotateWords {
  std::string input, output, chord, meter, tempo, title;
  bool asHeld = false;
  bool force = false;
};
int commandNotate(const NotateWords& words);

/// "PATH: no such file" or "PATH: is a folder", or "". [message]
std::string whyNoFile(const std::string& path);

/// "seguente: " and one line on stderr; returns the exit code given. [message]
int complain(const std::string& line, int code = exitBadInput);

/// A count of quarter notes, decimal, without trailing zeros. [message]
std::string quartersText(Ticks ticks);

}  // namespace seguente
