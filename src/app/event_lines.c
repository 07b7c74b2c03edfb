// SPDX-License-Identifier: GPL-3.0-or-later

#include "event_lines.h"

#include <jansson.h>

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>

static const char*
kind_word(const SrSessionEventKind kind)
{
  switch (kind) {
  case SR_SESSION_READY:
    return "ready";
  case SR_SESSION_LEVEL:
    return "level";
  case SR_SESSION_COUNT_IN:
    return "count-in";
  case SR_SESSION_NOTE:
    return "note";
  case SR_SESSION_AMENDED:
    return "amended";
  case SR_SESSION_AGAIN:
    return "again";
  case SR_SESSION_ROUND:
    return "round";
  case SR_SESSION_NOTHING:
    return "nothing";
  case SR_SESSION_SIGNAL:
    return "signal";
  case SR_SESSION_PLAYING:
    return "playing";
  case SR_SESSION_TEMPO:
    return "tempo";
  case SR_SESSION_HUSH:
    return "hush";
  case SR_SESSION_DROPOUT:
    return "dropout";
  case SR_SESSION_HEARD:
    return "heard";
  case SR_SESSION_AIR:
    return "air";
  case SR_SESSION_STOPPED:
    return "stopped";
  case SR_SESSION_SAVED:
    return "saved";
  case SR_SESSION_TROUBLE:
    return "trouble";
  case SR_SESSION_END:
    return "end";
  case SR_SESSION_PLAYED:
    return "played";
  case SR_SESSION_WAITING:
    return "waiting";
  case SR_SESSION_SIGNAL_HELD:
    return "signal-held";
  case SR_SESSION_PITCH:
    return "pitch";
  }
  return "";
}

static const char*
meaning_word(const SrSignalMeaning meaning)
{
  static const char* const words[] = {"none", "slower", "end", "short", "play"};
  return words[meaning];
}

static const char*
playing_word(const SrPlayingKind kind)
{
  return kind == SR_PLAYING_PHRASE ? "phrase" : "samples";
}

static const char*
outcome_word(const SrPlayedOutcome outcome)
{
  static const char* const words[] = {"whole", "stopped", "nothing"};
  return words[outcome];
}

static const char*
reason_word(const SrEndReason reason)
{
  static const char* const words[] = {"command", "signal", "rounds", "silence", "trouble"};
  return words[reason];
}

/// A number with three decimals, or null.
static json_t*
number(const double value)
{
  return isfinite(value) ? json_real(round(1e3 * value) / 1e3) : json_null();
}

/// A text, or null for none.
static json_t*
text(const char* const words)
{
  char* const valid = words ? sr_show_safe(words, true) : NULL;
  json_t* const value = valid ? json_string(valid) : json_null();
  free(valid);
  return value;
}

/// Parse an object that is already JSON text; null if there is none.
static json_t*
object_of(char* const written)
{
  json_t* const object = written ? json_loads(written, 0, NULL) : NULL;
  free(written);
  return object ? object : json_null();
}

/// The keys of an event besides "event" and "at_s".
static json_t*
keys_of(const SrPhrase* const phrase, const SrSessionEvent* const event)
{
  switch (event->kind) {
  case SR_SESSION_READY:
    return json_pack("{s:s, s:i, s:o, s:o, s:o, s:o, s:o}", "format", "steadyreed-events",
                     "version", 1, "input", text(event->ready.input), "output",
                     text(event->ready.output[0] ? event->ready.output : NULL), "rate_hz",
                     number(event->ready.rate_hz), "bpm", number(event->ready.bpm), "recording",
                     text(event->ready.path));
  case SR_SESSION_LEVEL:
    return json_pack("{s:o, s:b, s:b}", "peak_dbfs",
                     number(20.0 * log10((double)event->level.peak + 1e-9)), "overdriven",
                     event->level.overdriven, "idle", event->level.idle);
  case SR_SESSION_COUNT_IN:
    return json_pack("{s:i, s:i}", "number", (int)event->count_in.number, "total",
                     (int)event->count_in.total);
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
    return json_pack("{s:i, s:o}", "round", (int)event->note.round, "note",
                     object_of(sr_show_note_json(&event->note.verdict)));
  case SR_SESSION_ROUND: {
    const SrShownTake shown = {.path = "", .phrase = phrase, .assessment = event->round.assessment};
    return json_pack("{s:i, s:b, s:o}", "round", (int)event->round.number, "click_unknown",
                     event->round.click_unknown, "assessment",
                     object_of(sr_show_take_json(&shown)));
  }
  case SR_SESSION_SIGNAL:
    return json_pack("{s:s, s:o}", "meaning", meaning_word(event->signal.meaning), "held_s",
                     number(event->signal.held_s));
  case SR_SESSION_PLAYING:
    return json_pack("{s:o, s:s, s:o}", "bpm", number(event->playing.bpm), "kind",
                     playing_word(event->playing.kind), "length_s",
                     number(event->playing.length_s));
  case SR_SESSION_PLAYED:
    return json_pack("{s:s, s:s}", "kind", playing_word(event->played.kind), "outcome",
                     outcome_word(event->played.outcome));
  case SR_SESSION_TEMPO:
    return json_pack("{s:o}", "bpm", number(event->bpm));
  case SR_SESSION_WAITING:
    return json_pack("{s:b, s:o, s:o}", "over", event->waiting.over, "midi",
                     event->waiting.midi < 0 ? json_null() : json_integer(event->waiting.midi),
                     "left_s", number(event->waiting.left_s));
  case SR_SESSION_SIGNAL_HELD:
    return json_pack("{s:o, s:s}", "held_s", number(event->signal_held.held_s), "meaning",
                     meaning_word(event->signal_held.meaning));
  case SR_SESSION_PITCH:
    return json_pack("{s:o, s:i, s:o, s:o, s:o}", "frequency_hz", number(event->pitch.frequency_hz),
                     "midi", event->pitch.midi, "cents", number(event->pitch.cents), "reference_hz",
                     number(event->pitch.reference_hz), "level_dbfs",
                     number(event->pitch.level_db));
  case SR_SESSION_HUSH:
    return json_pack("{s:b}", "granted", event->hush.granted);
  case SR_SESSION_DROPOUT:
    return json_pack("{s:I, s:f}", "samples", (json_int_t)event->dropout.samples, "seconds",
                     event->dropout.seconds);
  case SR_SESSION_STOPPED:
    return json_pack("{s:s, s:I, s:o}", "reason", reason_word(event->stopped.reason), "rounds",
                     (json_int_t)event->stopped.rounds, "reference_hz",
                     number(event->stopped.reference_hz));
  case SR_SESSION_SAVED:
    return json_pack("{s:o}", "path", text(event->saved.path));
  case SR_SESSION_TROUBLE:
    return json_pack("{s:b, s:o, s:o}", "saving", event->trouble.saving, "message",
                     text(event->trouble.error.message), "file",
                     text(event->trouble.error.file[0] ? event->trouble.error.file : NULL));
  case SR_SESSION_NOTHING:
    // As before, unless something is kept of it
    return event->nothing.notes
               ? json_pack("{s:i, s:o, s:o}", "unfinished_notes", (int)event->nothing.notes,
                           "start_s", number(event->nothing.start_s), "end_s",
                           number(event->nothing.end_s))
               : json_object();
  case SR_SESSION_AGAIN:
  case SR_SESSION_HEARD:
  case SR_SESSION_AIR:
  case SR_SESSION_END:
    break;
  }
  return json_object();
}

/// Write an object with `keys` after "event" and "at_s"; frees `keys`.
static void
write_line(FILE* const stream, const char* const kind, const double at_s, json_t* const keys)
{
  json_t* const line = json_pack("{s:s, s:o}", "event", kind, "at_s", number(at_s));
  if (line && keys && json_object_update(line, keys) == 0) {
    json_dumpf(line, stream, JSON_COMPACT | JSON_REAL_PRECISION(15));
    fputc('\n', stream);
    fflush(stream);
  }
  json_decref(line);
  json_decref(keys);
}

void
sr_event_line(FILE* const stream, const SrPhrase* const phrase, const SrSessionEvent* const event)
{
  write_line(stream, kind_word(event->kind), event->at_s, keys_of(phrase, event));
}

void
sr_event_line_judged(FILE* const stream, const SrShownTake* const take)
{
  write_line(stream, "judged", (double)NAN,
             json_pack("{s:o}", "assessment", object_of(sr_show_take_json(take))));
}

void
sr_event_line_ladder(FILE* const stream, const SrPhrase* const phrase,
                     const SrLadderRung* const rung)
{
  static const char* const moves[] = {
      [SR_LADDER_SAME] = "same", [SR_LADDER_UP] = "up",         [SR_LADDER_DOWN] = "down",
      [SR_LADDER_NEXT] = "next", [SR_LADDER_JOINED] = "joined", [SR_LADDER_APART] = "apart",
      [SR_LADDER_DONE] = "done",
  };
  char words[SR_LADDER_WORDS_SIZE];
  write_line(stream, "ladder", (double)NAN,
             json_pack("{s:i, s:i, s:o, s:i, s:s, s:s}", "first_bar",
                       sr_phrase_bar(phrase, rung->first_bar)->number, "last_bar",
                       sr_phrase_bar(phrase, rung->first_bar + rung->bar_count - 1)->number, "bpm",
                       number(rung->bpm), "clean", (int)rung->clean, "moved", moves[rung->moved],
                       "words", sr_ladder_words(phrase, rung, words)));
}
