// SPDX-License-Identifier: GPL-3.0-or-later

#include "history.h"
#include "tuning.h"
#include "window.h"

#include "judge/air.h"
#include "judge/cut.h"

#include <steadyreed/free.h>
#include <steadyreed/mask.h>
#include <steadyreed/ornament.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Number of reported notes that are remembered.
#define RECENT 512u

/// A reported note.
typedef struct {
  int midi;
  double onset_s;
  double end_s;
} Recent;

struct SrFreeImpl {
  double rate_hz;
  SrProfile* profile;
  SrCalibration* calibration;
  SrHistory* history;
  SrWindow* window;
  uint64_t pushed;
  double learn_at_s;
  double wait_until_s; ///< No new estimate before this time
  int last_midi;       ///< Pitch of the last note reported
  double last_end_s;
  Recent recent[RECENT];
  size_t recent_next;
  bool learnt;          ///< The instrument was estimated at least once
  bool given;           ///< A profile was given
  unsigned times_moved; ///< Times in a row that the reference moved too far
  double unreported_s;  ///< Sounds that started earlier are reported, or never will be
  double air_reported_s;
  SrOpenSound open[SR_MOST_OPEN]; ///< At the last look
  size_t open_count;
  bool sounds;
  float* step;
  size_t step_size;
  size_t step_fill;
  SrFreeNote* notes;
  size_t note_count;
  size_t note_room;
  SrFreeAir* air;
  size_t air_count;
  size_t air_room;
};

SrStatus
sr_free_new(const double rate_hz, const SrProfile* const profile, SrFree** const free_listener,
            SrError* const error)
{
  *free_listener = NULL;
  SrFree* const f = (SrFree*)calloc(1, sizeof(SrFree));
  if (!f) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  f->rate_hz = rate_hz;
  f->given = profile != NULL;
  f->profile = profile ? sr_profile_copy(profile) : sr_profile_new(440.0);
  f->learn_at_s = FREE_LEARN_FIRST_S;
  f->air_reported_s = -1.0;
  SrStatus status = sr_calibration_new(rate_hz, NULL, &f->calibration, error);
  if (status == SR_OK) {
    status = sr_window_new(rate_hz, f->profile, NULL, 0, 0.0, &f->window, error);
  }
  if (status == SR_OK) {
    f->step_size = (size_t)lround(FREE_STEP_S * rate_hz);
    f->step = (float*)malloc(f->step_size * sizeof(float));
    f->history = sr_history_new((size_t)(FIRST_PAST_S * rate_hz));
    if (!f->profile || !f->step || !f->history) {
      status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
    }
  }
  if (status != SR_OK) {
    sr_free_del(f);
    return status;
  }
  *free_listener = f;
  return SR_OK;
}

void
sr_free_del(SrFree* const f)
{
  if (f) {
    sr_window_del(f->window);
    sr_history_del(f->history);
    sr_calibration_del(f->calibration);
    sr_profile_del(f->profile);
    free(f->step);
    free(f->notes);
    free(f->air);
    free(f);
  }
}

static int
by_onset(const void* const a, const void* const b)
{
  const SrEvent* const x = (const SrEvent*)a;
  const SrEvent* const y = (const SrEvent*)b;
  if (x->onset_s < y->onset_s || x->onset_s > y->onset_s) {
    return x->onset_s < y->onset_s ? -1 : 1;
  }
  return (x->midi > y->midi) - (x->midi < y->midi);
}

static double
length_of(const SrEvent* const event)
{
  return event->end_s - event->onset_s;
}

/// Whether a sound lies under another: an octave or chord of the left hand, or its shadow.
static bool
is_under(const SrEvent* const sounds, const size_t count, const size_t index)
{
  const SrEvent* const low = &sounds[index];
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    const double overlap = fmin(low->end_s, other->end_s) - fmax(low->onset_s, other->onset_s);
    const int above = other->midi - low->midi;
    const bool chord = above == 12 || above == 24 || (above >= 7 && low->midi < 60);
    if (i != index && chord && overlap > UNDER_SHARE * length_of(low)) {
      return true;
    }
  }
  return false;
}

/// Whether a short sound is only a flicker beside a longer and much louder one.
static bool
is_flicker(const SrEvent* const sounds, const size_t count, const SrEvent* const sound)
{
  for (size_t i = 0; length_of(sound) < SHORT_NOTE_S && i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    if (length_of(other) > length_of(sound) && other->level_db > sound->level_db + FLICKER_DB &&
        fmin(other->end_s, sound->end_s) - fmax(other->onset_s, sound->onset_s) >
            UNDER_SHARE * length_of(sound)) {
      return true;
    }
  }
  return false;
}

/// Whether a sound's length and pitch allow a cut of another, and its place too. `held` receives
/// whether the note sounds through it.
static bool
lies_as_cut(const SrEvent* const cut, const SrEvent* const note, bool* const held)
{
  if (!sr_ornament_may_be_grace(note->midi, -1, cut->midi) || length_of(cut) > SR_GRACE_MOST_S ||
      length_of(cut) > MOST_CUT_SHARE * length_of(note)) {
    return false;
  }
  *held = cut->onset_s > note->onset_s + CUT_GAP_S && cut->end_s < note->end_s - CUT_GAP_S;
  return *held || fabs(note->onset_s - cut->end_s) < CUT_GAP_S;
}

/// Whether the sound that ended at a cut has the pitch of the cut's note.
static bool
parts_notes(const SrEvent* const sounds, const size_t count, const SrEvent* const cut,
            const SrEvent* const note)
{
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const other = &sounds[i];
    if (other != note && other->midi == note->midi && other->onset_s < cut->onset_s &&
        fabs(other->end_s - cut->onset_s) < NEAR_CUT_S) {
      return true;
    }
  }
  return false;
}

/// Whether a note began with a cut.
static bool
begins_with_cut(const SrEvent* const sounds, const size_t count, const size_t index)
{
  bool held;
  for (size_t i = 0; i < count; ++i) {
    if (i != index && lies_as_cut(&sounds[i], &sounds[index], &held) && !held) {
      return true;
    }
  }
  return false;
}

/// Whether a sound is the cut of a note; a short note that has a cut itself is not.
static bool
is_cut_of(const SrEvent* const sounds, const size_t count, const size_t cut, const size_t note,
          bool* const held)
{
  if (cut == note || !lies_as_cut(&sounds[cut], &sounds[note], held)) {
    return false;
  }
  const bool brief = length_of(&sounds[cut]) < MOST_LONE_CUT_S;
  return *held || ((brief || parts_notes(sounds, count, &sounds[cut], &sounds[note])) &&
                   !begins_with_cut(sounds, count, cut));
}

/// The cut at the start of a note, otherwise one within it; the longest, since flickers beside it
/// are shorter. `count` if none.
static size_t
cut_of(const SrEvent* const sounds, const size_t count, const size_t index, bool* const held)
{
  size_t first = count;
  size_t on_top = count;
  for (size_t i = 0; i < count; ++i) {
    bool lies_on = false;
    if (is_cut_of(sounds, count, i, index, &lies_on)) {
      size_t* const best = lies_on ? &on_top : &first;
      *best = *best == count || length_of(&sounds[i]) > length_of(&sounds[*best]) ? i : *best;
    }
  }
  *held = first == count && on_top < count;
  return first < count ? first : on_top;
}

/// Whether a sound is the cut of another.
static bool
is_cut(const SrEvent* const sounds, const size_t count, const size_t index)
{
  bool held;
  for (size_t i = 0; i < count; ++i) {
    if (is_cut_of(sounds, count, index, i, &held)) {
      return true;
    }
  }
  return false;
}

/// Whether a sound was reported, alone or as part of a note.
static bool
is_reported(const SrFree* const f, const SrEvent* const sound)
{
  for (size_t i = 0; i < RECENT; ++i) {
    const Recent* const reported = &f->recent[i];
    const bool within =
        sound->onset_s > reported->onset_s && sound->end_s < reported->end_s + SAME_ONSET_S;
    if (reported->midi == sound->midi &&
        (within || fabs(reported->onset_s - sound->onset_s) < SAME_ONSET_S)) {
      return true;
    }
  }
  return false;
}

/// Whether a sound continues one that was never released and seems to restart.
static bool
goes_on_from(const SrEvent* const before, const SrEvent* const sound)
{
  const SrJudgeSettings settings = sr_judge_settings_default();
  return before->midi == sound->midi && before->onset_s < sound->onset_s &&
         fabs(sound->onset_s - before->end_s) < SR_GRACE_MOST_S && sr_sound_held(&settings, sound);
}

/// Join two sounds; the longer one gives the measurements.
static void
put_to(SrEvent* const before, const SrEvent* const sound)
{
  const SrEvent first = *before;
  if (length_of(sound) > length_of(before)) {
    *before = *sound;
    before->onset_s = first.onset_s;
    before->fall_db = first.fall_db;
    before->phase_kept = first.phase_kept;
  }
  before->end_s = fmax(first.end_s, sound->end_s);
}

/// Join sounds, sorted by onset, to those they continue, unless these were reported.
static size_t
put_together(const SrFree* const f, SrEvent* const sounds, const size_t count)
{
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    size_t from = kept;
    while (from > 0 && !goes_on_from(&sounds[from - 1], &sounds[i])) {
      --from;
    }
    if (from > 0 && !is_reported(f, &sounds[from - 1])) {
      put_to(&sounds[from - 1], &sounds[i]);
    } else {
      sounds[kept++] = sounds[i];
    }
  }
  return kept;
}

static bool
add_note(SrFree* const f, const SrFreeNote* const note)
{
  if (f->note_count == f->note_room) {
    const size_t room = 2 * f->note_room + 16;
    SrFreeNote* const more = (SrFreeNote*)realloc(f->notes, room * sizeof(SrFreeNote));
    if (!more) {
      return false;
    }
    f->notes = more;
    f->note_room = room;
  }
  f->notes[f->note_count++] = *note;
  return true;
}

static bool
add_air(SrFree* const f, const SrAirHeard* const heard)
{
  if (f->air_count == f->air_room) {
    const size_t room = 2 * f->air_room + 16;
    SrFreeAir* const more = (SrFreeAir*)realloc(f->air, room * sizeof(SrFreeAir));
    if (!more) {
      return false;
    }
    f->air = more;
    f->air_room = room;
  }
  const double level_db =
      heard->note_power > 0.0 ? 10.0 * log10(heard->hiss_power / heard->note_power) : (double)NAN;
  f->air[f->air_count++] =
      (SrFreeAir){heard->start_s, heard->end_s, level_db, sr_mask_over_db(heard)};
  return true;
}

/// Whether a sound is the last reported note, emerging again from under air.
static bool
goes_on_under_air(const SrFree* const f, const SrHeard* const heard, const SrEvent* const sound)
{
  if (sound->midi != f->last_midi || sound->onset_s - f->last_end_s > MOST_HIDDEN_S) {
    return false;
  }
  for (size_t i = 0; i < heard->air_count; ++i) {
    const SrAirHeard* const air = &heard->air[i];
    if (f->last_end_s > air->start_s - SR_ABOUT_AIR_S &&
        sound->onset_s < air->end_s + SR_ABOUT_AIR_S) {
      return true;
    }
  }
  return false;
}

/// Report the notes that ended before a time. Sounding notes are still considered for cuts, and
/// reported later.
static bool
report_until(SrFree* const f, const double until_s)
{
  SrHeard heard;
  if (sr_window_heard(f->window, f->open, f->open_count, INFINITY, &heard) != SR_OK) {
    return false;
  }
  SrEvent* const sounds = (SrEvent*)calloc(heard.event_count + 1, sizeof(SrEvent));
  if (!sounds) {
    return false;
  }
  size_t count = 0;
  for (size_t i = 0; i < heard.event_count; ++i) {
    if (heard.events[i].kind == SR_EVENT_SOUND) {
      sounds[count++] = heard.events[i];
    }
  }
  qsort(sounds, count, sizeof(SrEvent), by_onset);
  count = put_together(f, sounds, count);
  const double reference_hz = sr_profile_reference_hz(f->profile);
  bool enough = true;
  f->unreported_s = until_s;
  for (size_t i = 0; enough && i < count; ++i) {
    const SrEvent* const sound = &sounds[i];
    if (!(sound->end_s < until_s)) {
      f->unreported_s = fmin(f->unreported_s, sound->onset_s);
      continue;
    }
    // A listener without a profile may have missed the note of this cut; one with a profile hears
    // it again
    const bool known = f->learnt || f->given || !isfinite(until_s);
    const bool clear = length_of(sound) >= SHORT_NOTE_S ||
                       (known && sound->fit >= SHORT_NOTE_FIT && !is_flicker(sounds, count, sound));
    if (length_of(sound) < LEAST_NOTE_S || !clear || sound->level_db < LEAST_LEVEL_DB ||
        is_reported(f, sound) || is_cut(sounds, count, i) || is_under(sounds, count, i)) {
      continue;
    }
    bool held = false;
    const size_t cut = cut_of(sounds, count, i, &held);
    SrFreeNote note = {.onset_s = sound->onset_s,
                       .end_s = sound->end_s,
                       .midi = sound->midi,
                       .cents = isfinite(sound->frequency_hz)
                                    ? 1200.0 * log2(sound->frequency_hz / reference_hz) -
                                          100.0 * (sound->midi - 69)
                                    : (double)NAN,
                       .level_db = sound->level_db,
                       .cut_ms = (double)NAN,
                       .cut_midi = -1};
    if (cut < count) {
      note.cut_ms = sr_cut_length_ms(&sounds[cut], held ? NULL : sound);
      note.cut_midi = sounds[cut].midi;
      note.held = held;
      note.onset_s = fmin(note.onset_s, sounds[cut].onset_s);
    }
    note.goes_on = goes_on_under_air(f, &heard, sound);
    enough = add_note(f, &note);
    f->recent[f->recent_next] = (Recent){sound->midi, sound->onset_s, sound->end_s};
    f->recent_next = (f->recent_next + 1) % RECENT;
    f->last_midi = note.midi;
    f->last_end_s = note.end_s;
  }
  for (size_t i = 0; enough && i < heard.air_count; ++i) {
    if (heard.air[i].start_s > f->air_reported_s) {
      enough = add_air(f, &heard.air[i]);
      f->air_reported_s = heard.air[i].start_s;
    }
  }
  free(sounds);
  // A reported sound is needed while a cut may belong to it, a held one until it ends
  const double held_s = fmax(f->unreported_s - SR_GRACE_MOST_S - CUT_GAP_S, until_s - MOST_HELD_S);
  sr_window_drop(f->window, fmin(until_s - FREE_PAST_S, held_s));
  return enough;
}

/// Whether a listener heard a sound for most of its time.
static bool
hears(const SrHeard* const heard, const SrEvent* const sound)
{
  for (size_t i = 0; i < heard->event_count; ++i) {
    const SrEvent* const other = &heard->events[i];
    const double overlap = fmin(other->end_s, sound->end_s) - fmax(other->onset_s, sound->onset_s);
    if (other->kind == SR_EVENT_SOUND && other->midi == sound->midi &&
        overlap > 0.5 * length_of(sound)) {
      return true;
    }
  }
  return false;
}

/// Whether another listener heard everything still to be reported.
static bool
hears_unreported(const SrFree* const f, SrWindow* const window)
{
  SrHeard old;
  SrHeard new;
  if (sr_window_heard(f->window, NULL, 0, INFINITY, &old) != SR_OK ||
      sr_window_heard(window, NULL, 0, INFINITY, &new) != SR_OK) {
    return false;
  }
  for (size_t i = 0; i < old.event_count; ++i) {
    const SrEvent* const sound = &old.events[i];
    if (sound->kind == SR_EVENT_SOUND && sound->onset_s >= f->unreported_s &&
        length_of(sound) >= LEAST_NOTE_S && !is_reported(f, sound) && !hears(&new, sound)) {
      return false;
    }
  }
  return true;
}

/// Estimate the instrument and go on with a listener that uses it, unless that lost a note still to
/// be reported, which is then reported first.
static SrStatus
learn(SrFree* const f, SrError* const error)
{
  SrProfile* profile = NULL;
  SrStatus status = sr_calibration_finish(f->calibration, SR_READ_SINGLE, &profile, error);
  if (status != SR_OK) {
    return status;
  }
  sr_profile_complete(profile, f->profile);
  SrWindow* window = NULL;
  uint64_t at = sr_history_start(f->history);
  // A listener without a profile may have missed notes: start over. Otherwise start at what is
  // unreported, with its cut
  const double since_s = f->learnt ? f->unreported_s - SR_GRACE_MOST_S - CUT_GAP_S : 0.0;
  status = sr_window_new(f->rate_hz, profile, NULL, at, since_s, &window, error);
  while (status == SR_OK && at < sr_history_end(f->history)) {
    size_t count;
    const float* const samples = sr_history_at(f->history, at, &count);
    status = sr_window_push(window, samples, count);
    at += count;
  }
  if (status != SR_OK) {
    sr_profile_del(profile);
    sr_window_del(window);
    return status;
  }
  const double moved =
      fabs(1200.0 * log2(sr_profile_reference_hz(profile) / sr_profile_reference_hz(f->profile)));
  const bool known = f->learnt || f->given;
  const bool elsewhere = known && moved > MOST_MOVED_CENTS && ++f->times_moved < TIMES_MOVED;
  if (elsewhere) {
    // Only after more has been heard
    f->learn_at_s *= FREE_LEARN_FACTOR;
  }
  const bool loses = !elsewhere && f->learnt && !hears_unreported(f, window);
  if (loses) {
    f->wait_until_s = (double)f->pushed / f->rate_hz + SETTLE_S;
  }
  if (elsewhere || loses) {
    sr_profile_del(profile);
    sr_window_del(window);
    return SR_OK;
  }
  sr_profile_del(f->profile);
  sr_window_del(f->window);
  f->profile = profile;
  f->window = window;
  f->learnt = true;
  f->times_moved = 0;
  // Once, however much was heard since the last time
  while (f->learn_at_s <= sr_calibration_heard_s(f->calibration)) {
    f->learn_at_s *= FREE_LEARN_FACTOR;
  }
  return SR_OK;
}

static SrStatus
do_step(SrFree* const f, SrError* const error)
{
  sr_calibration_push(f->calibration, f->step, f->step_size);
  SrStatus status = sr_window_push(f->window, f->step, f->step_size);
  if (!sr_history_add(f->history, f->step, f->step_size)) {
    status = SR_NO_MEMORY;
  }
  f->pushed += f->step_size;
  const uint64_t kept = (uint64_t)(FREE_PAST_S * f->rate_hz);
  if (f->learnt && f->pushed > kept) {
    sr_history_forget(f->history, f->pushed - kept);
  }
  f->step_fill = 0;
  const size_t open = sr_window_open(f->window, 0.05, f->open);
  f->open_count = 0;
  for (size_t i = 0; i < open; ++i) {
    if (!f->open[i].doubtful) {
      f->open[f->open_count++] = f->open[i];
    }
  }
  f->sounds = f->open_count > 0;
  if (status == SR_OK && !report_until(f, (double)f->pushed / f->rate_hz - SETTLE_S)) {
    status = SR_NO_MEMORY;
  }
  // Not during a long note whose start is no longer in the history
  const double past_s = (double)sr_history_start(f->history) / f->rate_hz;
  const bool whole = past_s <= 0.0 || f->unreported_s > past_s + FREE_RUN_UP_S;
  const bool waits = (double)f->pushed / f->rate_hz < f->wait_until_s;
  if (status == SR_OK && f->learn_at_s < FREE_LEARN_LAST_S && !f->sounds && whole && !waits &&
      sr_calibration_heard_s(f->calibration) > f->learn_at_s) {
    status = learn(f, error);
  }
  return status == SR_OK
             ? SR_OK
             : sr_error_set(error, status, "There is not enough memory to keep listening.");
}

SrStatus
sr_free_push(SrFree* const f, const float* const samples, const size_t count, SrError* const error)
{
  SrStatus status = SR_OK;
  for (size_t done = 0; status == SR_OK && done < count;) {
    const size_t room = f->step_size - f->step_fill;
    const size_t part = count - done < room ? count - done : room;
    memcpy(f->step + f->step_fill, samples + done, part * sizeof(float));
    f->step_fill += part;
    done += part;
    if (f->step_fill == f->step_size) {
      status = do_step(f, error);
    }
  }
  return status;
}

SrStatus
sr_free_finish(SrFree* const f, SrError* const error)
{
  f->open_count = 0;
  f->sounds = false;
  const bool enough = sr_window_finish(f->window) == SR_OK && report_until(f, INFINITY);
  return enough
             ? SR_OK
             : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep listening.");
}

bool
sr_free_pull(SrFree* const f, SrFreeNote* const note)
{
  if (f->note_count == 0) {
    return false;
  }
  *note = f->notes[0];
  --f->note_count;
  memmove(f->notes, f->notes + 1, f->note_count * sizeof(SrFreeNote));
  return true;
}

bool
sr_free_pull_air(SrFree* const f, SrFreeAir* const air)
{
  if (f->air_count == 0) {
    return false;
  }
  *air = f->air[0];
  --f->air_count;
  memmove(f->air, f->air + 1, f->air_count * sizeof(SrFreeAir));
  return true;
}

bool
sr_free_sounds(const SrFree* const f)
{
  return f->sounds;
}

SrStatus
sr_free_learn(SrFree* const f, SrProfile** const profile, SrError* const error)
{
  const SrStatus status = sr_calibration_finish(f->calibration, SR_READ_SINGLE, profile, error);
  if (status == SR_OK) {
    sr_profile_complete(*profile, f->profile);
  }
  return status;
}

SrProfile*
sr_free_profile(const SrFree* const f)
{
  return sr_profile_copy(f->profile);
}
