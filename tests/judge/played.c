// SPDX-License-Identifier: GPL-3.0-or-later

#include "played.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

SrPhrase*
played_phrase(const char* const abc)
{
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_text(abc, strlen(abc), "test", NULL, &phrase, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return phrase;
}

SrEvent*
played_add(Played* const played, const int midi, const double onset_s, const double end_s,
           const double fall_db)
{
  assert_true(played->count < MOST_PLAYED);
  SrEvent* const event = &played->events[played->count++];
  *event = (SrEvent){.kind = SR_EVENT_SOUND,
                     .onset_s = onset_s,
                     .end_s = end_s,
                     .midi = midi,
                     .frequency_hz = sr_judge_frequency_hz(midi, 440.0),
                     .level_db = -18.0,
                     .fall_db = fall_db,
                     .phase_kept = (double)NAN,
                     .fit = 0.95};
  return event;
}

void
played_note(Played* const played, const SrPhraseNote* const note, const double onset_s,
            const double end_s, const bool again)
{
  double main_s = onset_s;
  if (note->cut_midi >= 0) {
    main_s += 0.03;
    played_add(played, note->cut_midi, onset_s, main_s, (double)NAN);
  }
  played_add(played, note->midi, main_s, end_s, again ? 30.0 : (double)NAN);
}

double
played_round(Played* const played, const SrPhrase* const phrase, const double zero_s,
             const double spw)
{
  double end_s = zero_s;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    const double onset_s = zero_s + sr_fraction_value(note->start) * spw;
    end_s = onset_s + sr_fraction_value(note->length) * spw;
    played_note(played, note, onset_s, end_s, again);
  }
  return end_s;
}

SrAssessment*
played_judge(const Played* const played, const SrPhrase* const phrase, SrStatus* const status)
{
  const SrTakeFacts facts = {.path = "test", .seconds = 100.0, .rate_hz = 44100.0};
  SrAssessment* assessment = NULL;
  const SrHeard heard = {played->events, played->count, played->air, played->air_count,
                         played->air_carriage};
  *status = sr_judge_take(phrase, &heard, &facts, NULL, &assessment, NULL);
  return assessment;
}

SrAssessment*
played_with_fault(const SrPhrase* const phrase, const PlayedFault kind, const size_t at)
{
  static Played p;
  memset(&p, 0, sizeof(p));
  double shift_s = 0.0;
  int before = -1;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool here = i == at;
    if (here && kind == PLAYED_STOPPED) {
      break;
    }
    shift_s += here && kind == PLAYED_WAITED ? 1.0 : 0.0;
    const double late_s = here && kind == PLAYED_LATE ? 0.07 : 0.0;
    const double onset_s = 1.0 + shift_s + late_s + 2.0 * sr_fraction_value(note->start);
    const double end_s = onset_s - late_s + 2.0 * sr_fraction_value(note->length);
    if (here && kind == PLAYED_MISSED) {
      before = -1;
      continue;
    }
    if (here && kind == PLAYED_WRONG) {
      played_add(&p, note->midi + 2, onset_s, end_s, 40.0);
    } else if (here && kind == PLAYED_JOINED && before == note->midi && p.count) {
      p.events[p.count - 1].end_s = end_s;
    } else if (here && kind == PLAYED_LONG_CUT) {
      played_add(&p, note->midi + 4, onset_s, onset_s + 0.09, 40.0);
      played_add(&p, note->midi, onset_s + 0.09, end_s, 40.0);
    } else {
      played_note(&p, note, onset_s, here && kind == PLAYED_TWICE ? onset_s + 0.1 : end_s,
                  before == note->midi);
      if (here && kind == PLAYED_TWICE) {
        played_note(&p, note, onset_s + 0.12, end_s, true);
      }
    }
    before = note->midi;
  }
  SrStatus status = SR_OK;
  return played_judge(&p, phrase, &status);
}
