#!/usr/bin/env bash
# What a reader would find tiresome to check: formatting, words, lengths, links, the shipped idioms. Called by ./run lint.
# Every check runs; the end says whether all passed.
set -uo pipefail
cd "$(dirname "$0")/.."
program=${1:?the seguente program}
compileCommands=${2:?a build folder with compile_commands.json}
failed=0

check() { # check WHAT COMMAND...: the command prints what is wrong, or nothing
  local what=$1 found
  shift
  if found=$("$@" 2>&1) && [ -z "$found" ]; then
    echo "good    $what"
  else
    printf 'FAULT   %s\n%s\n' "$what" "$(head -n 30 <<<"$found" | cut -c1-200 | sed 's/^/        /')"
    failed=1
  fi
}

# lines REGEX PATH...: where the regular expression is found
lines() {
  local regex=$1
  shift
  grep -rnIiE --exclude-dir=build --exclude-dir=.git -- "$regex" "$@" || [ $? = 1 ]
}

mapfile -t sources < <(find dsp plugin tests \( -name '*.cpp' -o -name '*.h' \) | sort)

# What runs on the audio thread: all of dsp/ but the idiom's own files, what is played in, and the texts made for people.
mapfile -t audioFiles < <(find dsp -name '*.cpp' ! -path 'dsp/notate/*' ! -name 'idiom_*' ! -name 'pattern_edit.cpp' ! -name 'harmony_text.cpp' ! -name 'engine.cpp' | sort)

formatted() { clang-format-14 --dry-run -Werror "${sources[@]}"; }
tidied() {
  find dsp -name '*.cpp' | sort | xargs -P "$(nproc)" -n 2 clang-tidy-14 --quiet -p "$compileCommands" 2>/dev/null |
    sed -nE '/ (error|warning): /p' | sort -u
}
goodIdioms() { local said; said=$("$program" check patterns/*.toml 2>&1) || echo "$said"; }
shellScripts() { local f; for f in run .ci/run tests/*.sh; do bash -n "$f"; [ -x "$f" ] || echo "$f cannot be run"; done; }
# Words that a screen shows stand in one file; what is left here are names that no reader sees.
shownWords() {
  python3 - <<'END'
import glob, re
for path in sorted(glob.glob('plugin/editor/*.cpp')):
    for number, line in enumerate(open(path, encoding='utf-8'), 1):
        code = re.sub(r'//.*', '', line)
        if code.startswith('#include'):
            continue
        for text in re.findall(r'"((?:[^"\\]|\\.)*)"', code):
            if re.search(r'[A-Za-z]{3,}', text) and text not in ('CDEFGAB', 'n' * 16):
                print(f'{path}:{number}: "{text}"')
END
}
links() {
  local page target
  for page in *.md patterns/*.md presets/demo/*.md; do
    grep -oE '\]\([^)#]+' "$page" | cut -c3- | grep -vE '^(https?|mailto):' | while read -r target; do
      if [ ! -e "$(dirname "$page")/$target" ]; then echo "$page: no file $target"; fi
    done
  done
  return 0  # a page without links is no fault
}
twiceNamed() { grep -rhoE 'TEST_CASE\("[^"]*"' tests --include='*.cpp' | sort | uniq -d; }

if command -v clang-format-14 >/dev/null; then
  check "clang-format 14 agrees with every source" formatted
else
  echo "skipped clang-format: version 14 is not to be had here, and others break lines elsewhere"
fi
if command -v clang-tidy-14 >/dev/null; then
  check "clang-tidy 14 finds no fault in dsp/" tidied
else
  echo "skipped clang-tidy: version 14 is not to be had here"
fi
check "dsp/ knows nothing of JUCE" lines 'juce' dsp
check "no branch on an idiom's name in code" lines 'if *\(.*(idiom|id|title)(\(\))? *== *"' dsp plugin
check "nothing in the audio thread's files that may wait or allocate" lines \
  '^[^/]*\b(std::(function|mutex|shared_ptr|string|vector|unordered_map|map|thread)|new|throw|printf)\b' "${audioFiles[@]}"
check "no folder of one machine is named" lines '(^|[^a-z0-9.$}_])/(work|root|tmp|home)/' .
check "no download host is named" lines '://(deb|security|ftp|snapshot|registry|mirror)[a-z0-9-]*\.' .
check "every word that the window shows stands in plugin/editor/strings.h" shownWords
check "every link in the pages leads to a file" links
check "scripts are whole" shellScripts
check "no two tests have one name" twiceNamed
check "every shipped idiom is a good file" goodIdioms

echo
echo "Files of more than 300 lines (each should still be one idea):"
wc -l "${sources[@]}" | awk '$2 != "total" && $1 > 300 {print "  " $1 "  " $2; n++} END {if (!n) print "  none"}'
exit $failed
