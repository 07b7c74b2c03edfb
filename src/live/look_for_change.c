// SPDX-License-Identifier: GPL-3.0-or-later

// Checks after each step whether what sounds has changed enough to be judged.
//
// has_changed() spares the work where nothing can be reported otherwise: how a reported note goes
// on and ends matters only if it is repeated or the last. A sound that fits its reed too little yet
// is doubtful, and counts only if it is due: the next note, the one after, or their cuts. So is a
// note that rises again from under its cut, before it is loud enough to have spoken for certain
// (look_at_return() in src/hear/open_sound.c).

#include "following.h"
#include "tuning.h"

bool
sr_follow_has_let_go(const SrOpenSound* const open)
{
  return open->falling_s > OVER_S && open->fallen_db > OVER_DB;
}

size_t
sr_follow_reported_as(const SrLive* const l, const SrEvent* const sound)
{
  for (size_t n = l->reached > 1 ? l->reached - 2 : 0; n < l->reached; ++n) {
    const Reported* const reported = &l->reported[n];
    if (reported->reported && reported->status == SR_NOTE_PLAYED &&
        reported->heard_midi == sound->midi &&
        fabs(reported->sound_s - sound->onset_s) < SAME_SOUND_S) {
      return n;
    }
  }
  return sr_phrase_note_count(l->phrase);
}

/// Whether the rest of a sound changes no report: it was reported as a note, that note is not
/// repeated, and it is not the last of the phrase.
static bool
is_settled(const SrLive* const l, const SrEvent* const sound)
{
  const size_t next = sr_follow_reported_as(l, sound) + 1;
  return next < sr_phrase_note_count(l->phrase) && l->reached < sr_phrase_note_count(l->phrase) &&
         sr_phrase_note(l->phrase, next)->midi != sound->midi;
}

/// Whether a sound looks different from the last look.
static bool
looks_different(const SrLive* const l, const SrOpenSound* const open, const SrOpenSound* const was)
{
  const bool falls = open->falling_s > FALLS_S && open->fallen_db > FALLS_DB;
  const bool fell = was->falling_s > FALLS_S && was->fallen_db > FALLS_DB;
  const bool sure = open->seen_s > SR_SURE_SEEN_S;
  const bool no_cut = open->seen_s >= NO_CUT_S;
  const bool older = sure != (was->seen_s > SR_SURE_SEEN_S) || no_cut != (was->seen_s >= NO_CUT_S);
  return fabs(open->event.onset_s - was->event.onset_s) >= SAME_SOUND_S ||
         (older && sr_follow_reported_as(l, &open->event) == sr_phrase_note_count(l->phrase)) ||
         (falls != fell && !is_settled(l, &open->event));
}

/// Whether any sound has changed since the last look in a way that may change a report.
static bool
has_changed(SrLive* const l, const SrOpenSound* const open, const size_t count)
{
  size_t over = 0;
  size_t i = 0;
  for (size_t w = 0; w < l->open_count; ++w) {
    const SrOpenSound* const was = &l->open[w];
    if (i < count && open[i].event.midi == was->event.midi) {
      if (looks_different(l, &open[i++], was)) {
        return true;
      }
    } else if (is_settled(l, &was->event)) {
      ++over;
    } else {
      return true;
    }
  }
  return l->judge_anyway || i < count || sr_window_ended(l->window) != l->ended + over;
}

/// Whether anything is being played; sounds that only emerge from the noise as the engine adapts to
/// silence are not.
static bool
is_played(SrLive* const l)
{
  if (l->reached == 0) {
    l->loudest_db = (double)-INFINITY;
  }
  for (size_t i = 0; i < l->open_count; ++i) {
    l->loudest_db = fmax(l->loudest_db, l->open[i].event.level_db);
  }
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    if (!sr_follow_has_let_go(open) && open->event.level_db > l->loudest_db - FAINT_DB) {
      return true;
    }
  }
  return false;
}

/// The open sounds, without doubtful ones that are not due.
static size_t
look_at_open(const SrLive* const l, SrOpenSound* const open)
{
  const size_t all = sr_window_open(l->window, l->settings.least_seen_s, open);
  size_t count = 0;
  for (size_t i = 0; i < all; ++i) {
    const bool waited_for = l->reached >= 1 ? sr_follow_is_due(l, open[i].event.midi)
                                            : sr_follow_may_be_first(l, &open[i]);
    if (!open[i].doubtful || waited_for) {
      open[count++] = open[i];
    }
  }
  return count;
}

SrStatus
sr_follow_look(SrLive* const l, SrError* const error)
{
  SrOpenSound open[SR_MOST_OPEN];
  const size_t count = look_at_open(l, open);
  const bool changed = has_changed(l, open, count);
  const double heard_s = sr_window_heard_s(l->window);
  const bool more = heard_s > l->looked_s;
  memcpy(l->open, open, count * sizeof(SrOpenSound));
  l->open_count = count;
  l->ended = sr_window_ended(l->window);
  l->judge_anyway = false;
  l->looked_s = heard_s;
  sr_follow_note_last_end(l);
  const bool sounds = is_played(l);
  if (sounds) {
    l->last_sound_s = heard_s;
  }
  sr_follow_note_last_note(l);
  SrStatus status = SR_OK;
  // A first note, and one that was waited for, are reported as soon as they are certain, even if
  // nothing else changes
  if (changed || (more && (l->waits || (l->reached > 0 && sr_follow_count_reported(l) == 0)))) {
    status = sr_follow_judge_so_far(l, error);
  }
  if (l->settings.signal_midi >= 0) {
    status = status == SR_OK ? sr_follow_watch_signal(l, error) : status;
  }
  if (status != SR_OK || l->reached == 0) {
    return status;
  }
  const bool whole = l->reached == sr_phrase_note_count(l->phrase);
  if (whole && sr_follow_last_note_is_over(l)) {
    return sr_follow_end_round(l, fmax(l->last_end_s - OVERLAP_S, l->round_start_s + OVERLAP_S),
                               error);
  }
  const double silent_s = heard_s - l->last_sound_s;
  if (!sounds && silent_s > l->settings.broken_off_s + sr_follow_longest_rest_s(l)) {
    return sr_follow_end_round(l, heard_s, error);
  }
  // One missing note after them does not end a round
  const double tried_s = TRIED_S + sr_follow_longest_rest_s(l) + sr_follow_next_note_s(l);
  if (!sounds && l->reached <= TRIED_NOTES && silent_s > tried_s) {
    sr_follow_report(l, SR_NEWS_NOTHING);
    sr_follow_forget_reported(l);
    sr_follow_follow_from(l, heard_s);
  }
  return SR_OK;
}
