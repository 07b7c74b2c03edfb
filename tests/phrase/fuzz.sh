#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Fuzz a reader: fuzz.sh SECONDS [phrase|instrument [FOLDER]]
#
# Without a word it is the phrase reader; instrument is the reader of layouts.
#
# Starts from the kept texts and works in a temporary copy of them, or in FOLDER, which
# then keeps what is found. Fails if an input crashes the reader, hangs, leaks or gives
# neither a whole phrase or layout nor one clear error; that input is printed.
set -eu

seconds=${1:?usage: fuzz.sh SECONDS [phrase|instrument [FOLDER]]}
target=${2:-phrase}
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
corpus=${3:-$work/corpus}
mkdir -p "$corpus" "$work/found"

case $target in
phrase)
  kept="$root"/testdata/abc/corpus
  dictionary="$root"/tests/phrase/abc.dict
  set -- "$root"/src/phrase/*.c "$root"/tests/phrase/outcome.c "$root"/tests/phrase/fuzz_phrase.c
  ;;
instrument)
  kept="$root"/testdata/instruments/corpus
  dictionary="$root"/tests/plan/instrument.dict
  set -- "$root"/src/plan/instrument.c "$root"/src/plan/instrument_read.c \
    "$root"/src/plan/pitch_name.c "$root"/tests/plan/instrument_outcome.c \
    "$root"/tests/plan/fuzz_instrument.c
  ;;
*)
  echo "fuzz.sh: there is nothing called $target to fuzz" >&2
  exit 2
  ;;
esac
cp "$kept"/* "$corpus"/

${CC_FUZZ:-clang} -std=c11 -D_GNU_SOURCE -g -O1 -fno-omit-frame-pointer \
  -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all \
  -I"$root/include" -I"$root/src" \
  "$root"/src/status.c "$root"/tests/support/clean_text.c "$@" \
  -ljansson -lm -o "$work/fuzz"

"$work/fuzz" -max_total_time="$seconds" -max_len=4096 -timeout=10 -rss_limit_mb=1024 \
  -dict="$dictionary" -artifact_prefix="$work/found/" -print_final_stats=1 \
  "$corpus" >"$work/log" 2>&1 && status=0 || status=$?
grep -E '^(stat::|SUMMARY|==|.*ERROR)' "$work/log" || true
if [ "$status" -ne 0 ]; then
  tail -n 40 "$work/log"
  for input in "$work"/found/*; do
    [ -f "$input" ] && { echo "-- $(basename "$input")"; od -c "$input" | head -n 40; }
  done
  exit 1
fi
