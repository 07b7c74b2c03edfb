# SPDX-License-Identifier: GPL-3.0-or-later
#
# The completion of bash as installed: test_completion.bash COMPLETION PROGRAM SOURCES. What it
# offers, and so what the help tells, is what the tables of options in SOURCES have.
set -uo pipefail
completion=$1 program=$(realpath "$2") sources=$3
export LC_ALL=C
source "$completion"
failed=0

# complete_line WORD...: what is offered for the last word, sorted, on one line
complete_line() {
  COMP_WORDS=("$program" "$@")
  COMP_CWORD=$#
  COMPREPLY=()
  _steadyreed "$program" "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"
  printf '%s\n' ${COMPREPLY+"${COMPREPLY[@]}"} | sort | paste -sd ' '
}

# expect WORDS WORD...: the words that must be offered, sorted
expect() {
  local wanted=$1
  shift
  local offered
  offered=$(complete_line "$@")
  if [[ $offered != "$wanted" ]]; then
    printf '"%s": offered "%s", not "%s"\n' "$*" "$offered" "$wanted"
    failed=1
  fi
}

for command in assess beside class demo drill plan practise progress setup sound today transcribe; do
  # A command's own options may have a file of their own
  expect "$(cat "$sources/$command.c" "$sources/${command}_options.c" 2>/dev/null |
    grep -o '{"[a-z-]*", [a-z]*_argument' | cut -d '"' -f 2 |
    sed 's/^/--/' | sort | paste -sd ' ')" "$command" --
done
expect "--help --version" --
expect "assess beside class demo drill plan practise progress setup sound today transcribe" ""
expect "plan practise progress" p
expect "air cuts steady" drill ""
expect "bellows latency reeds room" setup --only ""
expect "pulses" practise --click-on pu
expect "" plan --tempo ""
expect "" nothing ""

folder=$(mktemp -d)
trap 'rm -r "$folder"' EXIT
cd "$folder" || exit 1
touch "a jig.abc" "another.wav"
expect "a jig.abc another.wav" assess a
expect "another.wav" assess -o an
expect "30-c-g 30-c-g-both" plan --instrument 30-c-g
exit "$failed"
