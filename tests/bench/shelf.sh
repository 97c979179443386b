#!/usr/bin/env bash
# What the whole shelf costs to open, in instructions, and how it plays. shelf.sh BENCH PROGRAM [progressions]
set -euo pipefail
bench=${1:?the program seguente_shelf_bench}
program=${2:?the seguente program}
shift 2
# 20 ms at three thousand million instructions a second; the program's own start is in it.
bar=60000000
taken=$(valgrind --tool=callgrind --callgrind-out-file=/dev/null "$program" idioms 2>&1 >/dev/null |
  sed -nE 's/.*Collected : ([0-9]+).*/\1/p')
echo "all idioms read, compiled and listed: $taken instructions (bar: $bar)"
"$bench" "$@"
[ "$taken" -le "$bar" ]
