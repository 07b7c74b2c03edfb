// SPDX-License-Identifier: GPL-3.0-or-later

// When the last note of a round is over, and when a note last sounded.
//
// The last note is over when its reed is released and everything is softer too: under loud air a
// note looks as if it were released. Speech may keep a round open for as long as it lasts, so
// practice ends by the last certain note (sr_live_last_note_s()). In 209 s of dense talk a few
// words were taken for one, none of them in the first 26 s.

#include "following.h"
#include "tuning.h"

/// Whether a sound is the first note, not a cut, of a next round that began without a pause.
static bool
is_next_first(const SrLive* const l, const SrOpenSound* const open)
{
  return open->event.midi == sr_phrase_note(l->phrase, 0)->midi && open->seen_s >= NO_CUT_S &&
         !open->doubtful && open->event.onset_s > l->last_end_s - OVERLAP_S;
}

void
sr_follow_follow_power(SrLive* const l)
{
  float sum = 0.0f;
  for (size_t i = 0; i < l->step_size; ++i) {
    const float sample = isfinite(l->step[i]) ? l->step[i] : 0.0f;
    sum += (sample - l->sample) * (sample - l->sample);
    l->sample = sample;
  }
  l->power += POWER_SHARE * (sum - l->power);
  l->most_power = fmaxf(l->power, FORGET_POWER * l->most_power);
  if (l->open_count == 0 && sr_window_heard_s(l->window) > l->last_sound_s + ROOM_AFTER_S) {
    const bool known = l->room_power > 0.0f;
    const float share = !known ? 1.0f : l->power < l->room_power ? ROOM_DOWN : ROOM_UP;
    l->room_power += share * (l->power - l->room_power);
  }
}

/// Whether the power above the room's noise has fallen far below its recent maximum.
static bool
is_softer(const SrLive* const l)
{
  const float most = l->most_power - l->room_power;
  return l->power - ROOM_WAVERS * l->room_power < most / ALL_OVER;
}

bool
sr_follow_last_note_is_over(const SrLive* const l)
{
  bool goes_on = false;
  const int midi = sr_phrase_note(l->phrase, sr_phrase_note_count(l->phrase) - 1)->midi;
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    const bool sounds = !sr_follow_has_let_go(open);
    if (sounds && (open->event.midi == midi || !is_next_first(l, open))) {
      return false;
    }
    goes_on = goes_on || sounds;
  }
  return goes_on || is_softer(l) || sr_window_heard_s(l->window) > l->last_sound_s + MOST_AIR_S;
}

bool
sr_follow_is_due(const SrLive* const l, const int midi)
{
  const size_t first = l->reached > 0 ? l->reached - 1 : 0;
  for (size_t i = first; i < first + 3 && i < sr_phrase_note_count(l->phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(l->phrase, i);
    bool due = note->midi == midi || note->cut_midi == midi;
    for (int k = 0; k < note->ornament_count; ++k) {
      due = due || note->ornament_midi[k] == midi;
    }
    if (due) {
      return true;
    }
  }
  return false;
}

bool
sr_follow_may_be_first(const SrLive* const l, const SrOpenSound* const open)
{
  double cents;
  return open->event.midi == sr_phrase_note(l->phrase, 0)->midi && open->seen_s >= SLOW_S &&
         open->event.fit >= SLOW_FIT && isfinite(open->event.frequency_hz) &&
         sr_profile_reed(l->profile, open->event.midi, &cents) &&
         !sr_follow_is_sharp(l, &open->event);
}

void
sr_follow_note_last_end(SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrEvent* const sound = &l->open[i].event;
    if (sr_follow_reported_as(l, sound) < sr_phrase_note_count(l->phrase)) {
      l->last_end_s = fmax(l->last_end_s, sound->end_s);
    }
  }
}

/// Whether a sound is certainly a note: no speech fits a reed this well, at its pitch, for this
/// long.
static bool
is_surely_note(const SrLive* const l, const SrOpenSound* const open)
{
  const SrEvent* const event = &open->event;
  return open->seen_s - open->falling_s >= NO_CUT_S && event->fit >= CLEARER_FIT &&
         !(fabs(sr_follow_cents_over_reed(l, event->midi, event->frequency_hz)) > MOST_SHARP_CENTS);
}

void
sr_follow_note_last_note(SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    if (is_surely_note(l, &l->open[i])) {
      l->last_note_s = fmax(l->last_note_s, l->open[i].event.end_s);
    }
  }
  if (l->reached >= SURER_NOTES) {
    l->last_note_s = fmax(l->last_note_s, l->last_end_s);
  }
}
