#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Fuzz the phrase reader: fuzz.sh SECONDS [FOLDER]
#
# Starts from the kept texts and works in a temporary copy of them, or in FOLDER,
# which then keeps what is found. Fails if an input crashes the reader, hangs, leaks
# or gives neither a whole phrase nor one clear error; that input is printed.
set -eu

seconds=${1:?usage: fuzz.sh SECONDS [FOLDER]}
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
corpus=${2:-$work/corpus}
mkdir -p "$corpus" "$work/found"
cp "$root"/testdata/abc/corpus/* "$corpus"/

${CC_FUZZ:-clang} -std=c11 -D_GNU_SOURCE -g -O1 -fno-omit-frame-pointer \
  -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=all \
  -I"$root/include" -I"$root/src" \
  "$root"/src/status.c "$root"/src/phrase/*.c \
  "$root"/tests/phrase/outcome.c "$root"/tests/phrase/fuzz_phrase.c \
  -lm -o "$work/fuzz_phrase"

"$work/fuzz_phrase" -max_total_time="$seconds" -max_len=4096 -timeout=10 -rss_limit_mb=1024 \
  -dict="$root/tests/phrase/abc.dict" -artifact_prefix="$work/found/" -print_final_stats=1 \
  "$corpus" >"$work/log" 2>&1 && status=0 || status=$?
grep -E '^(stat::|SUMMARY|==|.*ERROR)' "$work/log" || true
if [ "$status" -ne 0 ]; then
  tail -n 40 "$work/log"
  for input in "$work"/found/*; do
    [ -f "$input" ] && { echo "-- $(basename "$input")"; od -c "$input" | head -n 40; }
  done
  exit 1
fi
