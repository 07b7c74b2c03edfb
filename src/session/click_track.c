// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_state.h"

#include <math.h>
#include <string.h>

bool
sr_click_tempo_fits(const double bpm)
{
  return bpm >= SR_SLOWEST_BPM && bpm <= SR_FASTEST_BPM;
}

void
sr_click_prepare(SrSession* const session)
{
  SrClickTrack* const click = &session->click;
  for (size_t i = 0; i < 2; ++i) {
    click->sound_count[i] =
        sr_sound_click(session->rate_hz, i == 1, click->sound[i], SR_CLICK_SAMPLES);
  }
}

static unsigned
bar_pulses(const SrPhrase* const phrase)
{
  // The first bar may be a pickup
  const SrPhraseBar* const bar = sr_phrase_bar(phrase, sr_phrase_bar_count(phrase) > 1 ? 1 : 0);
  const double length = (double)bar->meter_beats / (double)bar->meter_unit;
  const long pulses = lround(length / sr_fraction_value(bar->pulse));
  return pulses < 1 ? 1 : (unsigned)pulses;
}

void
sr_click_start(SrSession* const session)
{
  SrClickTrack* const click = &session->click;
  const SrSessionSettings* const settings = &session->settings;
  const unsigned pulses = bar_pulses(session->phrase);
  const bool bars = settings->click_bars;
  click->pulses = bars ? (double)pulses : 1.0;
  // Clicks are played at whole samples; an error of a fraction of a sample in the predicted time
  // would leave much of them after removal
  click->period = round(60.0 / click->bpm * session->rate_hz * click->pulses);
  // One bar, or two clicks if that would be one
  click->count_in = bars || pulses == 1 ? 2 : pulses;
  click->counted = 0;
  const SrClickPlan plan = {.plain = click->sound[0],
                            .plain_count = click->sound_count[0],
                            .accent = click->sound[1],
                            .accent_count = click->sound_count[1],
                            .period = click->period,
                            .bar_clicks = bars ? 1 : pulses,
                            .on_bars = settings->on_bars,
                            .off_bars = settings->off_bars,
                            .count_in = click->count_in,
                            .volume = (float)settings->click_volume};
  click->began = false;
  click->silences_counted = 0;
  click->running = sr_stream_click(session->stream, &plan, NULL) == SR_OK;
  sr_between_break(session);
}

void
sr_click_stop(SrSession* const session)
{
  SrClickTrack* const click = &session->click;
  click->moved = click->moved || click->began;
  sr_stream_click_stop(session->stream);
  sr_click_remover_del(click->remover);
  click->remover = NULL;
  click->running = false;
}

/// Judge by the player's own tempo.
static void
judge_without(SrSession* const session)
{
  sr_live_set_click(session->live, session->click.bpm, (double)NAN, (double)NAN, 0.0);
}

void
sr_click_pause(SrSession* const session)
{
  if (session->click.running) {
    sr_click_stop(session);
  }
  judge_without(session);
}

void
sr_click_set_volume(SrSession* const session, const double volume)
{
  session->settings.click_volume = fmin(1.0, fmax(0.0, volume)); // NAN is 0
  sr_stream_click_volume(session->stream, session->settings.click_volume);
}

void
sr_click_turn(SrSession* const session, const bool on)
{
  session->click.off = !on;
  if (!on) {
    sr_click_pause(session);
  }
}

void
sr_click_change_tempo(SrSession* const session, const double bpm)
{
  SrClickTrack* const click = &session->click;
  // After a tempo change there is no one tempo for the whole take
  click->tempo_changed = click->tempo_changed || click->began || click->moved;
  click->bpm = bpm;
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_TEMPO, .bpm = click->bpm});
  if (session->settings.silent) {
    click->tempo_changed = true;
    session->settings.judge.target_bpm = bpm;
    judge_without(session);
  } else if (click->running) {
    sr_click_stop(session); // it restarts by itself
  } else {
    judge_without(session);
  }
}

SrStatus
sr_click_begin_removing(SrSession* const session)
{
  SrClickTrack* const click = &session->click;
  if (!click->running || click->began || !sr_stream_click_began(session->stream, &click->frame)) {
    return SR_OK;
  }
  click->began = true;
  sr_click_remover_del(click->remover);
  const SrClickSetting setting = {
      .rate_hz = session->rate_hz,
      .plain = click->sound[0],
      .plain_count = click->sound_count[0],
      .accent = click->sound[1],
      .accent_count = click->sound_count[1],
      .period = click->period,
      .bar_clicks = session->settings.click_bars ? 1 : bar_pulses(session->phrase),
      .on_bars = session->settings.on_bars,
      .off_bars = session->settings.off_bars,
      .count_in = click->count_in,
      .began = (double)click->frame - (double)session->read};
  return sr_click_remover_new(&setting, &click->remover, &session->error);
}

double
sr_click_heard_s(const SrSession* const session)
{
  const SrClickTrack* const click = &session->click;
  if (!click->began || !click->remover) {
    return (double)NAN;
  }
  const double left_s = (double)click->frame / session->rate_hz;
  if (isfinite(click->round_trip_s)) {
    return left_s + click->round_trip_s;
  }
  return left_s + sr_setup_round_trip_s(&session->setup, session->input, session->output);
}

/**
   Record when the click was silent, given when its first one was heard, and pass that to the live
   judge.
*/
static void
follow_silences(SrSession* const session, const double first_s)
{
  SrClickTrack* const click = &session->click;
  const unsigned on = session->settings.on_bars;
  const unsigned off = session->settings.off_bars;
  const double bar =
      click->period * (session->settings.click_bars ? 1.0 : (double)bar_pulses(session->phrase));
  const double start = first_s * session->rate_hz + (double)click->count_in * click->period +
                       ((double)click->silences_counted * (on + off) + on) * bar;
  if (on == 0 || off == 0 || start > (double)session->read) {
    return;
  }
  sr_losses_add(&click->silences, (uint64_t)llround(start), (uint64_t)llround(start + off * bar));
  ++click->silences_counted;
  SrSilence silences[SR_MOST_LOSSES];
  for (size_t i = 0; i < click->silences.count; ++i) {
    silences[i] = (SrSilence){(double)click->silences.lost[i].start / session->rate_hz,
                              (double)click->silences.lost[i].end / session->rate_hz, off};
  }
  sr_live_set_silences(session->live, silences, click->silences.count);
}

void
sr_click_follow(SrSession* const session)
{
  SrClickTrack* const click = &session->click;
  if (!click->running) {
    return;
  }
  // Keep the last measured round trip while the click is searched for again
  if (click->began && click->remover) {
    const SrClickHeard heard = sr_click_remover_heard(click->remover);
    click->round_trip_s = heard.heard ? heard.round_trip / session->rate_hz : click->round_trip_s;
  }
  const double heard_s = sr_click_heard_s(session);
  sr_live_set_click(session->live, click->bpm, heard_s, click->period / session->rate_hz,
                    click->pulses);
  if (!click->began) {
    return;
  }
  // Report it when it is heard, not when it is handed to the output
  const double first_s =
      isfinite(heard_s) ? heard_s : (double)click->frame / session->rate_hz + SR_OUTPUT_LATENCY_S;
  follow_silences(session, first_s);
  while (click->counted < click->count_in &&
         sr_session_now_s(session) >=
             first_s + (double)click->counted * click->period / session->rate_hz) {
    ++click->counted;
    sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_COUNT_IN,
                                                .count_in = {click->counted, click->count_in}});
  }
}
