// SPDX-License-Identifier: GPL-3.0-or-later

// Whether what has ended was a sound, and how it is reported.

#include "reeds.h"

/// Least fit of a sound, where a written one needs `fit`.
static double
least_fit(const SrSoundFinder* const f, const size_t p, const double length_s, const double fit)
{
  const bool unknown = f->any_learnt && !f->profile->reeds[p].learnt;
  const bool free_play = !f->expected.any;
  // Without a phrase, a short sound may be a cut
  if (sr_reed_is_written(f, p) || (free_play && length_s < SHORT_S)) {
    return fit * (f->profile->doubled ? DOUBLED_FIT : 1.0) * (unknown ? UNKNOWN_FIT : 1.0);
  }
  return OTHER_FIT * (free_play && unknown ? FREE_UNKNOWN_FIT : 1.0);
}

bool
sr_reed_is_sound(const SrSoundFinder* const f, const Ended* const ended, const double fit)
{
  const size_t p = (size_t)(ended->event.midi - SR_LOWEST_MIDI);
  const double length_s = ended->event.end_s - ended->event.onset_s;
  const bool written = sr_reed_is_written(f, p);
  if (length_s < 0.008) {
    return false;
  }
  if (ended->peak < (written ? WRITTEN_SHARE : OTHER_SHARE) * ended->loudest) {
    return false;
  }
  if (ended->lower > (written ? 2.5 : 0.8) * ended->amount) {
    return false;
  }
  if (ended->beside > 2.5 * ended->amount) {
    return false;
  }
  const double frequency = ended->event.frequency_hz;
  const double nominal = sr_profile_frequency_hz(f->profile, p);
  if (isfinite(frequency) && fabs(1200.0 * log2(frequency / nominal)) > MOST_CENTS) {
    return false;
  }
  return ended->event.fit > least_fit(f, p, length_s, fit);
}

void
sr_reed_put(SrSoundFinder* const f, const SrEvent* const event)
{
  if (f->queued == f->queue_size) {
    const size_t size = f->queue_size ? 2 * f->queue_size : 64;
    SrEvent* const more = (SrEvent*)realloc(f->queue, size * sizeof(SrEvent));
    if (!more) {
      f->lost = true;
      return;
    }
    f->queue = more;
    f->queue_size = size;
  }
  f->queue[f->queued++] = *event;
}

double
sr_reed_fit_so_far(const Reed* const reed)
{
  return fmax(0.0, 1.0 - (reed->misfit_sum + reed->noise_sum) / reed->total_sum);
}

Ended
sr_reed_describe(const SrSoundFinder* const f, const size_t p, const double onset,
                 const int64_t end_frame)
{
  const Reed* const reed = &f->reeds[p];
  Ended ended = {0};
  ended.peak = reed->peak;
  ended.loudest = sr_reed_loudest_between(f, reed->begin - ABOUT, f->frame);
  ended.amount = reed->amount_sum / reed->frames;
  ended.lower = reed->lower_sum / reed->frames;
  ended.beside = reed->beside_sum / reed->frames;
  SrEvent* const event = &ended.event;
  event->kind = SR_EVENT_SOUND;
  event->onset_s = sr_reed_frame_time(f, onset);
  event->end_s = sr_reed_frame_time(f, fmax((double)end_frame, onset + 1.0));
  event->midi = SR_LOWEST_MIDI + (int)p;
  event->frequency_hz = sr_reed_frequency_of(f, p, reed->settled_turn);
  event->level_db = 10.0 * log10(reed->power_sum / reed->frames + 1e-12);
  event->fall_db = reed->fall_db;
  event->phase_kept = sr_reed_phase_kept(f, reed, sr_reed_mean_frequency(f, p));
  event->fit = sr_reed_fit_so_far(reed);
  event->octave_below = f->profile->doubled ? 0.0 : reed->below_sum / (reed->amount_sum + 1e-12);
  return ended;
}

void
sr_reed_end_sound(SrSoundFinder* const f, const size_t p, const int64_t end_frame)
{
  Reed* const reed = &f->reeds[p];
  if (!reed->settled) {
    const Stretch stretch = {reed->begin, end_frame, 1.0};
    sr_reed_settle(f, p, &stretch);
  }
  reed->last_end = end_frame;
  reed->last_hold = reed->hold;
  reed->state = SILENT;
  if (!(reed->frames > 0.0)) {
    return;
  }
  const Ended ended = sr_reed_describe(f, p, reed->onset, end_frame);
  reed->before_hz = sr_reed_mean_frequency(f, p);
  const bool cut = reed->between && end_frame - reed->begin <= MOST_CUT;
  const bool brief = ended.event.end_s - ended.event.onset_s < SHORT_S;
  reed->refused = !cut && !sr_reed_is_sound(f, &ended, brief ? SHORT_FIT : WRITTEN_FIT);
  if (!reed->refused) {
    if (reed->silent > 0.0 && !brief) {
      sr_reed_learn_lag(f, p, reed->own_lag, reed->silent);
    }
    sr_reed_put(f, &ended.event);
    sr_reed_ask_for_checks(f, p, reed->begin, end_frame);
  }
}
