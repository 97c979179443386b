// A new idiom of the player's own: into the folder under a name that nobody has, onto the shelf, and chosen.
#pragma once

#include <functional>
#include <string>

namespace seguente {
class Processor;
}

namespace seguente::screen {

/// textFor: the pattern file for an id and a title. What stood in the way, as one line; empty when it is kept and
/// chosen. Nothing is written over. [message]
std::string keepOwn(Processor& processor, const std::string& name,
                    const std::function<std::string(const std::string& id, const std::string& title)>& textFor);

}  // namespace seguente::screen
