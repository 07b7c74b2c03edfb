// SPDX-License-Identifier: GPL-3.0-or-later

#include "reported.h"

#include "bits.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void
reported_pull(Reported* const reported, SrLive* const live)
{
  SrNews news;
  while (sr_live_pull(live, &news)) {
    reported->news = (SrNews*)realloc(reported->news, (reported->count + 1) * sizeof(SrNews));
    assert_non_null(reported->news);
    reported->news[reported->count++] = news;
  }
}

SrLiveSettings
reported_settings(const Scene* const scene)
{
  SrLiveSettings settings = sr_live_settings_default();
  settings.rate_hz = scene->rate_hz;
  return settings;
}

Reported
reported_of(const SrPhrase* const phrase, const SrLiveSettings* const settings,
            const Scene* const scene, const size_t chunk)
{
  Reported reported = {0};
  SrLive* live = NULL;
  assert_int_equal(sr_live_new(phrase, settings, &live, NULL), SR_OK);
  for (size_t at = 0; at < scene->count; at += chunk) {
    const size_t step = scene->count - at < chunk ? scene->count - at : chunk;
    assert_int_equal(sr_live_push(live, scene->samples + at, step, NULL), SR_OK);
    reported_pull(&reported, live);
  }
  assert_int_equal(sr_live_finish(live, NULL), SR_OK);
  reported_pull(&reported, live);
  sr_live_del(live);
  return reported;
}

void
reported_free(Reported* const reported)
{
  for (size_t i = 0; i < reported->count; ++i) {
    sr_assessment_del(reported->news[i].assessment);
  }
  free(reported->news);
}

size_t
reported_count(const Reported* const reported, const SrNewsKind kind)
{
  size_t count = 0;
  for (size_t i = 0; i < reported->count; ++i) {
    count += reported->news[i].kind == kind;
  }
  return count;
}

const SrNews*
reported_nth(const Reported* const reported, const SrNewsKind kind, const size_t index)
{
  size_t count = 0;
  for (size_t i = 0; i < reported->count; ++i) {
    if (reported->news[i].kind == kind && count++ == index) {
      return &reported->news[i];
    }
  }
  reported_print(reported);
  fail_msg("only %zu news of kind %d, number %zu is wanted", count, (int)kind, index);
  abort(); // Not reached: a failed test does not return
}

const SrRound*
reported_round(const Reported* const reported, const size_t index)
{
  const SrAssessment* const assessment = reported_nth(reported, SR_NEWS_ROUND, index)->assessment;
  assert_non_null(assessment);
  assert_true(assessment->round_count > 0);
  return &assessment->rounds[assessment->round_count - 1];
}

size_t
reported_notes(const SrRound* const round, const SrNoteStatus status)
{
  size_t count = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    count += round->notes[i].status == status;
  }
  return count;
}

bool
reported_slip(const SrRound* const round, const SrSlipKind kind)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == kind) {
      return true;
    }
  }
  return false;
}

void
reported_print(const Reported* const reported)
{
  static const char* const kinds[] = {"note", "amended", "again", "round", "nothing", "signal"};
  for (size_t i = 0; i < reported->count; ++i) {
    const SrNews* const news = &reported->news[i];
    print_message("%8.3f s round %u %-8s", news->at_s, news->round, kinds[news->kind]);
    if (news->kind == SR_NEWS_NOTE || news->kind == SR_NEWS_AMENDED) {
      print_message(" %zu midi %d status %d onset %.3f joined %d cut %d", news->note.index,
                    news->note.midi, (int)news->note.status, news->note.onset_s,
                    (int)news->note.joined, news->note.has_cut ? (int)news->note.cut.verdict : -1);
    } else if (news->kind == SR_NEWS_ROUND) {
      const SrAssessment* const a = news->assessment;
      const SrRound* const round = &a->rounds[a->round_count - 1];
      print_message(" %.3f to %.3f s, %zu played, %zu missed, %zu wrong, %zu unheard, %zu slips",
                    round->start_s, round->end_s, reported_notes(round, SR_NOTE_PLAYED),
                    reported_notes(round, SR_NOTE_MISSED), reported_notes(round, SR_NOTE_WRONG),
                    reported_notes(round, SR_NOTE_UNHEARD), round->slip_count);
    }
    print_message("\n");
  }
}

static void
same(const double one, const double other)
{
  if (!same_bits(one, other)) {
    fail_msg("%.17g is not %.17g", one, other);
  }
}

static void
same_note(const SrNoteVerdict* const one, const SrNoteVerdict* const other)
{
  assert_int_equal(one->index, other->index);
  assert_int_equal(one->bar, other->bar);
  assert_int_equal(one->midi, other->midi);
  assert_int_equal(one->status, other->status);
  assert_int_equal(one->heard_midi, other->heard_midi);
  same(one->due_s, other->due_s);
  same(one->onset_s, other->onset_s);
  same(one->end_s, other->end_s);
  same(one->offset_ms, other->offset_ms);
  same(one->cents, other->cents);
  same(one->level_db, other->level_db);
  assert_int_equal(one->joined, other->joined);
  assert_int_equal(one->air_asked, other->air_asked);
  assert_int_equal(one->has_cut, other->has_cut);
  assert_int_equal(one->cut.verdict, other->cut.verdict);
  same(one->cut.onset_s, other->cut.onset_s);
  same(one->cut.length_ms, other->cut.length_ms);
  assert_int_equal(one->cut.midi, other->cut.midi);
  same(one->cut.fall_db, other->cut.fall_db);
}

static void
same_pulse(const SrPulse* const one, const SrPulse* const other)
{
  same(one->target_bpm, other->target_bpm);
  same(one->played_bpm, other->played_bpm);
  same(one->drift_percent, other->drift_percent);
  same(one->mean_offset_ms, other->mean_offset_ms);
  same(one->spread_ms, other->spread_ms);
  same(one->npvi, other->npvi);
  assert_int_equal(one->lilt_count, other->lilt_count);
  for (size_t i = 0; i < one->lilt_count; ++i) {
    same(one->lilt[i], other->lilt[i]);
  }
}

static void
same_air(const SrAirRelease* const one, const SrAirRelease* const other)
{
  same(one->start_s, other->start_s);
  same(one->end_s, other->end_s);
  same(one->level_db, other->level_db);
  same(one->over_mask_db, other->over_mask_db);
  assert_int_equal(one->audible, other->audible);
  assert_int_equal(one->note_index, other->note_index);
  assert_int_equal(one->between, other->between);
  assert_int_equal(one->asked, other->asked);
  same(one->note_dip_db, other->note_dip_db);
  same(one->note_bend_cents, other->note_bend_cents);
  same(one->late_ms, other->late_ms);
  assert_int_equal(one->failed, other->failed);
}

static void
same_round(const SrRound* const one, const SrRound* const other)
{
  same(one->start_s, other->start_s);
  same(one->end_s, other->end_s);
  same_pulse(&one->pulse, &other->pulse);
  assert_int_equal(one->note_count, other->note_count);
  for (size_t i = 0; i < one->note_count; ++i) {
    same_note(&one->notes[i], &other->notes[i]);
  }
  assert_int_equal(one->insertion_count, other->insertion_count);
  for (size_t i = 0; i < one->insertion_count; ++i) {
    same(one->insertions[i].onset_s, other->insertions[i].onset_s);
    same(one->insertions[i].end_s, other->insertions[i].end_s);
    assert_int_equal(one->insertions[i].midi, other->insertions[i].midi);
  }
  assert_int_equal(one->air_count, other->air_count);
  for (size_t i = 0; i < one->air_count; ++i) {
    same_air(&one->air[i], &other->air[i]);
  }
  assert_int_equal(one->slip_count, other->slip_count);
  for (size_t i = 0; i < one->slip_count; ++i) {
    assert_int_equal(one->slips[i].kind, other->slips[i].kind);
    same(one->slips[i].at_s, other->slips[i].at_s);
    assert_int_equal(one->slips[i].note_index, other->slips[i].note_index);
    assert_int_equal(one->slips[i].bar, other->slips[i].bar);
    same(one->slips[i].wait_s, other->slips[i].wait_s);
  }
  same(one->scores.cuts, other->scores.cuts);
  same(one->scores.evenness, other->scores.evenness);
  same(one->scores.air, other->scores.air);
  assert_int_equal(one->advice_count, other->advice_count);
  for (size_t i = 0; i < one->advice_count; ++i) {
    assert_string_equal(one->advice[i], other->advice[i]);
  }
}

static void
same_assessment(const SrAssessment* const one, const SrAssessment* const other)
{
  assert_string_equal(one->title, other->title);
  assert_int_equal(one->first_bar, other->first_bar);
  assert_int_equal(one->last_bar, other->last_bar);
  assert_int_equal(one->phrase_notes, other->phrase_notes);
  assert_string_equal(one->path, other->path);
  same(one->take.seconds, other->take.seconds);
  same(one->take.rate_hz, other->take.rate_hz);
  same(one->take.peak_dbfs, other->take.peak_dbfs);
  assert_int_equal(one->take.clipped_samples, other->take.clipped_samples);
  same(one->reference_hz, other->reference_hz);
  assert_int_equal(one->round_count, other->round_count);
  for (size_t i = 0; i < one->round_count; ++i) {
    same_round(&one->rounds[i], &other->rounds[i]);
  }
}

void
reported_assert_same(const Reported* const one, const Reported* const other)
{
  assert_int_equal(one->count, other->count);
  for (size_t i = 0; i < one->count; ++i) {
    const SrNews* const a = &one->news[i];
    const SrNews* const b = &other->news[i];
    assert_int_equal(a->kind, b->kind);
    same(a->at_s, b->at_s);
    assert_int_equal(a->round, b->round);
    same_note(&a->note, &b->note);
    same(a->held_s, b->held_s);
    assert_int_equal(a->assessment != NULL, b->assessment != NULL);
    if (a->assessment && b->assessment) {
      same_assessment(a->assessment, b->assessment);
    }
  }
}
