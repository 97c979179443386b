// A value, or one line that says why there is none. Exceptions do not cross our interfaces.
#pragma once

#include <string>
#include <utility>

namespace seguente {

/// fault is empty when the value is good. [any]
template <class T>
struct Checked {
  T value{};
  std::string fault;
  bool good() const { return fault.empty(); }
};

template <class T>
Checked<T> good(T value) {
  return {std::move(value), {}};
}

template <class T>
Checked<T> bad(std::string fault) {
  return {{}, std::move(fault)};
}

}  // namespace seguente
