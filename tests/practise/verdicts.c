// SPDX-License-Identifier: GPL-3.0-or-later

#include "verdicts.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"
#include "sitting.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_OPTIONS 16u

json_t*
verdicts_read(const char* const text)
{
  json_t* const all = json_array();
  const char* at = text;
  while (*at && strspn(at, " \n") < strlen(at)) {
    json_error_t error;
    json_t* const one = json_loads(at, JSON_DISABLE_EOF_CHECK, &error);
    if (!one) {
      fail_msg("no JSON: %s\n%s", error.text, at);
    }
    // Of all events, what was judged
    json_array_append(all, json_object_get(one, "assessment"));
    at += error.position;
    json_decref(one);
  }
  return all;
}

json_t*
verdicts_assess(const char* const phrase, const char* const take, const char* const* const options)
{
  const char* arguments[MOST_OPTIONS] = {test_program, "assess", phrase, take, "--json"};
  size_t count = 5;
  for (size_t i = 0; options && options[i]; ++i) {
    assert_true(count + 1 < MOST_OPTIONS);
    arguments[count++] = options[i];
  }
  ProgramRun run = run_program(arguments);
  if (run.status) {
    fail_msg("assess: %d, %s", run.status, run.trouble);
  }
  json_t* const json = json_loads(run.output, 0, NULL);
  assert_non_null(json);
  run_clear(&run);
  return json;
}

size_t
verdicts_rounds(const json_t* const assessment)
{
  return json_array_size(json_object_get(assessment, "rounds"));
}

json_t*
verdicts_round(const json_t* const assessment, const size_t round)
{
  json_t* const found = json_array_get(json_object_get(assessment, "rounds"), round);
  assert_non_null(found);
  return found;
}

double
verdicts_number(const json_t* const object, const char* const path)
{
  const char* const dot = strchr(path, '.');
  if (dot) {
    char key[64];
    snprintf(key, sizeof(key), "%.*s", (int)(dot - path), path);
    return verdicts_number(json_object_get(object, key), dot + 1);
  }
  const json_t* const value = json_object_get(object, path);
  assert_non_null(value);
  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

size_t
verdicts_count(const json_t* const round, const char* const status)
{
  size_t count = 0;
  size_t i;
  const json_t* note;
  json_array_foreach(json_object_get(round, "notes"), i, note)
  {
    count += !strcmp(json_string_value(json_object_get(note, "status")), status);
  }
  return count;
}

/// What a note's verdict is, in one line.
static char*
verdict_of(const json_t* const note)
{
  static const char* const keys[] = {"index", "bar", "midi", "status", "heard_midi", "joined"};
  const json_t* const cut = json_object_get(note, "cut");
  char* text = test_text("%s", "");
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    char* const value = json_dumps(json_object_get(note, keys[i]), JSON_ENCODE_ANY);
    char* const longer = test_text("%s%s %s, ", text, keys[i], value);
    free(value);
    free(text);
    text = longer;
  }
  const char* const verdict =
      json_is_null(cut) ? "none" : json_string_value(json_object_get(cut, "verdict"));
  char* const whole = test_text("%scut %s, onset %s", text, verdict,
                                json_is_null(json_object_get(note, "onset_s")) ? "no" : "yes");
  free(text);
  return whole;
}

static int
compare_numbers(const void* const one, const void* const two)
{
  const double a = *(const double*)one;
  const double b = *(const double*)two;
  return a < b ? -1 : a > b;
}

/// How long its cut was, ms; NAN if it has none.
static double
cut_length(const json_t* const note)
{
  const json_t* const cut = json_object_get(note, "cut");
  return json_is_object(cut) ? verdicts_number(cut, "length_ms") : (double)NAN;
}

static size_t
apart(const size_t one, const size_t two)
{
  return one > two ? one - two : two - one;
}

static void
compare_air(const json_t* const one, const json_t* const two, Difference* const d)
{
  const json_t* const first = json_object_get(one, "air");
  const json_t* const second = json_object_get(two, "air");
  d->other_air = apart(json_array_size(first), json_array_size(second));
  d->other_extra = apart(json_array_size(json_object_get(one, "extra")),
                         json_array_size(json_object_get(two, "extra")));
  for (int side = 0; d->other_extra && side < 2; ++side) {
    char* const list = json_dumps(json_object_get(side ? two : one, "extra"), JSON_COMPACT);
    print_message("    extra %s: %s\n", side ? "there" : "here", list);
    free(list);
  }
  for (size_t i = 0; d->other_air == 0 && i < json_array_size(first); ++i) {
    const json_t* const a = json_array_get(first, i);
    const json_t* const b = json_array_get(second, i);
    const bool same =
        json_equal(json_object_get(a, "audible"), json_object_get(b, "audible")) &&
        json_equal(json_object_get(a, "note_index"), json_object_get(b, "note_index"));
    d->other_air += same ? 0 : 1;
    if (!same) {
      print_message("    air under note %.0f and %.0f: %.1f and %.1f dB over what hides it\n",
                    verdicts_number(a, "note_index"), verdicts_number(b, "note_index"),
                    verdicts_number(a, "over_mask_db"), verdicts_number(b, "over_mask_db"));
    }
  }
}

Difference
verdicts_compare(const char* const what, const json_t* const one, const json_t* const two)
{
  Difference d = {0};
  const json_t* const first = json_object_get(one, "notes");
  const json_t* const second = json_object_get(two, "notes");
  d.notes = json_array_size(first);
  assert_true(d.notes > 0);
  assert_int_equal(json_array_size(second), d.notes);
  double* const shifts = (double*)calloc(d.notes + 1, sizeof(double));
  double* const by_note = (double*)calloc(d.notes + 1, sizeof(double));
  assert_non_null(shifts);
  assert_non_null(by_note);
  size_t count = 0;
  for (size_t i = 0; i < d.notes; ++i) {
    const json_t* const a = json_array_get(first, i);
    const json_t* const b = json_array_get(second, i);
    char* const says_a = verdict_of(a);
    char* const says_b = verdict_of(b);
    const bool same = !strcmp(says_a, says_b);
    if (!same) {
      ++d.different;
      print_message("    %s: %s\n    %*s  %s\n", what, says_a, (int)strlen(what), "", says_b);
    }
    free(says_a);
    free(says_b);
    const double shift_s = verdicts_number(b, "onset_s") - verdicts_number(a, "onset_s");
    // Where a note begins depends on whether a cut was heard before it
    by_note[i] = same ? shift_s : (double)NAN;
    if (same && isfinite(shift_s)) {
      shifts[count++] = shift_s;
    }
    const double cut_ms = fabs(cut_length(b) - cut_length(a));
    d.worst_cut_ms = isfinite(cut_ms) ? fmax(d.worst_cut_ms, cut_ms) : d.worst_cut_ms;
  }
  assert_true(count > 0);
  qsort(shifts, count, sizeof(double), compare_numbers);
  d.shift_s = shifts[count / 2];
  d.worst_ms = 1e3 * fmax(shifts[count - 1] - d.shift_s, d.shift_s - shifts[0]);
  for (size_t i = 0; i < count; ++i) {
    d.mean_ms += 1e3 * fabs(shifts[i] - d.shift_s) / (double)count;
  }
  for (size_t i = 0; i < d.notes; ++i) {
    const double moved_ms = 1e3 * (by_note[i] - d.shift_s);
    if (fabs(moved_ms) > 1.0) { // not where it is no number
      print_message("    %s: note %zu begins %+.1f ms elsewhere\n", what, i, moved_ms);
    }
  }
  free(shifts);
  free(by_note);
  compare_air(one, two, &d);
  print_message("  %s: %zu notes, %zu different, onsets within %.2f ms (%.2f on the mean), cuts "
                "%.2f ms; air %zu, extra %zu different\n",
                what, d.notes, d.different, d.worst_ms, d.mean_ms, d.worst_cut_ms, d.other_air,
                d.other_extra);
  return d;
}
