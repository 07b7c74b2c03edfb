#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Fuzz a reader: fuzz.sh BUILD SECONDS phrase|instrument|settings|history|take [FOLDER]
#
# BUILD was set up with clang, -Dfuzzers=true and the sanitizers (see DEVELOPERS.md). Starts from the
# kept files and works in a temporary copy of them, or in FOLDER, which then keeps what is found.
# Fails if an input crashes the reader, hangs, leaks or gives neither what it should read nor one
# clear error; that input is printed.
set -eu

build=${1:?usage: fuzz.sh BUILD SECONDS phrase|instrument|settings|history|take [FOLDER]}
seconds=${2:?fuzz.sh: for how many seconds?}
target=${3:?fuzz.sh: which reader? phrase, instrument, settings, history or take}
root=$(cd "$(dirname "$0")/../.." && pwd)
fuzzer=$build/tests/fuzz/fuzz_$target
[ -x "$fuzzer" ] || {
  echo "fuzz.sh: there is no $fuzzer: was BUILD set up with -Dfuzzers=true?" >&2
  exit 2
}
case $target in
phrase) kept=abc most=4096 ;;
instrument) kept=instruments most=4096 ;;
*) kept=$target most=16384 ;;
esac
[ "$target" = take ] && kept=media
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
corpus=${4:-$work/corpus}
mkdir -p "$corpus" "$work/found"
cp "$root/testdata/$kept/corpus"/* "$corpus"/

"$fuzzer" -max_total_time="$seconds" -max_len=$most -timeout=10 -rss_limit_mb=1024 \
  -dict="$root/tests/fuzz/$target.dict" -artifact_prefix="$work/found/" -print_final_stats=1 \
  "$corpus" >"$work/log" 2>&1 && status=0 || status=$?
grep -E '^(stat::|SUMMARY|==|.*ERROR)' "$work/log" || true
if [ "$status" -ne 0 ]; then
  tail -n 40 "$work/log"
  for input in "$work"/found/*; do
    [ -f "$input" ] && { echo "-- $(basename "$input")"; od -c "$input" | head -n 40; }
  done
  exit 1
fi
