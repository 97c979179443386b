# Writes the C++ source that holds every pattern file in its slot.
# cmake -DPATTERNS=<folder> -DOUT=<file.cpp> -P shipped_idioms.cmake
# Ends with an error when a slot names no file, a file has no slot, or a slot or an idiom is named twice.
cmake_minimum_required(VERSION 3.22)

file(STRINGS ${PATTERNS}/slots.txt lines REGEX "^[^#]")
set(ids "")
set(last -1)
set(rows "")
foreach(line IN LISTS lines)
  if(NOT line MATCHES "^([0-9]+) ([a-z0-9-]+)$")
    message(FATAL_ERROR "slots.txt: found \"${line}\", expected a slot and an id, as in \"1 waltz\"")
  endif()
  set(slot ${CMAKE_MATCH_1})
  set(id ${CMAKE_MATCH_2})
  if(slot LESS_EQUAL last OR slot GREATER 127)
    message(FATAL_ERROR "slots.txt: found slot ${slot} after ${last}, expected ascending slots up to 127")
  endif()
  if(id IN_LIST ids)
    message(FATAL_ERROR "slots.txt: found ${id} twice, expected one slot for each idiom")
  endif()
  set(last ${slot})
  list(APPEND ids ${id})

  file(READ ${PATTERNS}/${id}.toml text)
  if(NOT text MATCHES "\ntitle *= *\"([^\"\\]*)\"")
    message(FATAL_ERROR "${id}.toml: expected title = \"...\" at the start of a line")
  endif()
  set(title "${CMAKE_MATCH_1}")
  set(fence "toml")  # what ends the text: a word that is not in it
  string(FIND "${text}" ")${fence}\"" found)
  while(NOT found EQUAL -1)
    string(APPEND fence "_")
    string(FIND "${text}" ")${fence}\"" found)
  endwhile()
  string(APPEND rows "    {${slot}, \"${id}\", \"${title}\",\n     R\"${fence}(${text})${fence}\"sv},\n")
endforeach()

file(GLOB files RELATIVE ${PATTERNS} ${PATTERNS}/*.toml)
foreach(file IN LISTS files)
  string(REGEX REPLACE "\\.toml$" "" id ${file})
  if(NOT id IN_LIST ids)
    message(FATAL_ERROR "slots.txt: ${file} has no slot; add a line with the next free one")
  endif()
endforeach()

file(WRITE ${OUT}
"// Made by shipped_idioms.cmake from patterns/: do not change it here.
#include \"plugin/shipped_idioms.h\"

namespace seguente {
namespace {
using namespace std::literals;  // a text that knows its length: counting it would tire a compiler

constexpr ShippedIdiom shipped[] = {
${rows}};
}  // namespace

std::span<const ShippedIdiom> shippedIdioms() noexcept { return shipped; }

}  // namespace seguente
")
