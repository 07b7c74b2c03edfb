// SPDX-License-Identifier: GPL-3.0-or-later

// What is played to the player instead of the click: the phrase as it should go, or samples of the
// front end, such as a round again.

#include "session_state.h"

#include <math.h>
#include <stdlib.h>

/// It is queued this far ahead, s.
#define AHEAD_S 0.5
/// What the device still has of it when it is stopped is over within this, s.
#define STOPPED_S 0.6

static void
report_end(SrSession* const session, const SrPlayingKind kind, const SrPlayedOutcome outcome)
{
  sr_session_report(session,
                    (SrSessionEvent){.kind = SR_SESSION_PLAYED, .played = {kind, outcome}});
}

static void
end(SrSession* const session, const SrPlayedOutcome outcome)
{
  SrPlaying* const playing = &session->playing;
  const SrPlayingKind kind = playing->kind;
  sr_sound_del(playing->sound);
  free(playing->samples);
  *playing = (SrPlaying){0};
  report_end(session, kind, outcome);
}

/// Make room for what is to be played: nothing else may sound.
static void
make_way(SrSession* const session)
{
  sr_playing_stop(session);
  sr_click_stop(session);
  sr_between_break(session);
}

static void
begin(SrSession* const session, const double bpm, const double samples)
{
  session->playing.active = true;
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_PLAYING,
                                              .playing = {bpm, session->playing.kind,
                                                          samples / session->rate_hz}});
}

void
sr_playing_phrase(SrSession* const session)
{
  SrPlaying* const playing = &session->playing;
  if (session->settings.silent || !session->live) {
    report_end(session, SR_PLAYING_PHRASE, SR_PLAYED_NOTHING);
    return;
  }
  if (playing->active && playing->kind == SR_PLAYING_PHRASE) {
    return;
  }
  SrSoundSettings settings = sr_sound_settings_default();
  SrProfile* const profile = sr_live_profile(session->live);
  settings.rate_hz = session->rate_hz;
  settings.tempo_bpm = session->click.bpm;
  settings.reference_hz = profile ? sr_profile_reference_hz(profile) : 440.0;
  sr_profile_del(profile);
  make_way(session);
  playing->kind = SR_PLAYING_PHRASE;
  if (sr_sound_new(session->phrase, &settings, &playing->sound, NULL) == SR_OK) {
    begin(session, session->click.bpm, (double)sr_sound_length(playing->sound));
  } else {
    report_end(session, SR_PLAYING_PHRASE, SR_PLAYED_NOTHING);
  }
}

void
sr_playing_samples(SrSession* const session, float* const samples, const size_t count)
{
  make_way(session);
  session->playing = (SrPlaying){.kind = SR_PLAYING_SAMPLES, .samples = samples, .count = count};
  begin(session, (double)NAN, (double)count);
}

void
sr_playing_stop(SrSession* const session)
{
  if (session->playing.active) {
    sr_stream_play_stop(session->stream);
    session->deaf_until_s = fmax(session->deaf_until_s, sr_session_now_s(session) + STOPPED_S);
    end(session, SR_PLAYED_STOPPED);
  }
}

/// The next samples, up to a chunk; 0 at the end.
static size_t
read_next(SrPlaying* const playing, float* const samples)
{
  if (playing->sound) {
    return sr_sound_read(playing->sound, samples, SR_SESSION_CHUNK);
  }
  const size_t rest = playing->count - playing->at;
  const size_t count = rest < SR_SESSION_CHUNK ? rest : SR_SESSION_CHUNK;
  for (size_t i = 0; i < count; ++i) {
    samples[i] = playing->samples[playing->at++];
  }
  return count;
}

void
sr_playing_feed(SrSession* const session)
{
  SrPlaying* const playing = &session->playing;
  float samples[SR_SESSION_CHUNK];
  bool all = !playing->sound && !playing->samples;
  while (playing->active && !all &&
         sr_stream_unplayed(session->stream) < (size_t)(AHEAD_S * session->rate_hz)) {
    const size_t count = read_next(playing, samples);
    if (count == 0) {
      sr_sound_del(playing->sound);
      free(playing->samples);
      playing->sound = NULL;
      playing->samples = NULL;
      all = true;
    }
    sr_stream_play(session->stream, samples, count);
  }
  if (playing->active && all && sr_stream_unplayed(session->stream) == 0) {
    end(session, SR_PLAYED_WHOLE); // the click begins when its echo is over
  }
}
