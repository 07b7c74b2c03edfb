// SPDX-License-Identifier: GPL-3.0-or-later

#include "practice.h"

#include "command.h"
#include "device_names.h"
#include "guard.h"
#include "hands_free.h"
#include "judging.h"
#include "losses.h"
#include "practice_view.h"
#include "quiet.h"
#include "say.h"
#include "setup_store.h"
#include "take_note.h"

#include <steadyreed/click.h>
#include <steadyreed/live.h>
#include <steadyreed/recording.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Samples taken from the stream at once.
#define CHUNK 1024u
/// Chunks taken before keys and the like are looked at again.
#define MOST_CHUNKS 32u
/// How long one wait for samples lasts at most, s.
#define WAIT_S 0.02
/// The click starts when the stream has run so long, s.
#define CLICK_AFTER_S 0.4
/// How often the level line moves, s.
#define LEVEL_EVERY_S 0.1
/// How often the recording's note is looked at, s.
#define NOTE_EVERY_S 1.0
/// How long nothing need be played before the first round, s.
#define FIRST_WAIT_S 300.0
/// About each round so much is kept, s.
#define KEEP_ABOUT_S 2.0
/// What is played to the player is not listened to, nor so long after it, s.
#define ECHO_S 0.6
/// The least step of 24 bits.
#define DEAF_LEVEL 1.2e-7f
/// A signal held longer than this ends practice, s; another that begins within this of the first
/// makes two.
#define FINISH_HELD_S 4.0
#define SECOND_WITHIN_S 3.0
/// Twice the signal: so much slower.
#define SLOWER 0.9
/// Seconds of a click's sound at most.
#define CLICK_SIZE 12000u

/// When a round was played, s.
typedef struct {
  double start_s;
  double end_s;
  SrRoundRow row; ///< For the table
} Played;

typedef struct {
  const SrPracticeRequest* request;
  const SrPhrase* phrase;
  SrPracticeView view;
  SrSetup setup;
  SrStream* stream;
  double rate_hz;
  SrLive* live;
  SrRecording* recording;
  SrClickRemover* remover;
  float click_sound[2][CLICK_SIZE]; ///< Plain, accented
  size_t click_count[2];
  uint64_t read;         ///< Samples from the stream
  SrLosses losses;       ///< What of them was lost
  SrLosses silences;     ///< When the click was silent while it went on
  uint64_t remover_from; ///< Of these, the first that went through the remover
  double bpm;
  double click_pulses;
  double period;    ///< Samples from click to click
  bool clicking;    ///< Asked for
  bool click_began; ///< … and its first has left
  uint64_t click_frame;
  unsigned count_in;      ///< Clicks of it
  unsigned counted;       ///< … shown
  unsigned silences_told; ///< Of this click
  bool tempo_changed;
  bool told_unmeasured;  ///< Why ahead and behind are not told
  bool told_air_untold;  ///< Why air is not told
  bool click_moved;      ///< It began anew, elsewhere
  SrSound* phrase_sound; ///< Being played to the player
  double deaf_until_s;
  double round_trip_s;  ///< Of the click, as heard last; NAN if it never was
  double signal_s;      ///< When the last signal was given; NAN if it was answered
  size_t signal_rounds; ///< Rounds played by then
  double last_level_s;
  double last_note_s;
  char note[SR_TAKE_NOTE_SIZE]; ///< In the recording by now
  float peak;
  Played* played;
  size_t played_count;
  uint64_t gaps_told;
  bool over;
  bool asked;        ///< It was the player's wish
  bool forgot_round; ///< There was no memory to remember a round
  SrStatus trouble;
  SrError error;
} Practice;

static double
now_s(const Practice* const p)
{
  return (double)p->read / p->rate_hz;
}

/// Pulses of a full bar.
static unsigned
bar_pulses(const SrPhrase* const phrase)
{
  // The pickup may be the first bar
  const SrPhraseBar* const bar = sr_phrase_bar(phrase, sr_phrase_bar_count(phrase) > 1 ? 1 : 0);
  const double length = (double)bar->meter_beats / (double)bar->meter_unit;
  const long pulses = lround(length / sr_fraction_value(bar->pulse));
  return pulses < 1 ? 1 : (unsigned)pulses;
}

// The click ----------------------------------------------------------------------------------

static SrStatus
start_click(Practice* const p)
{
  const unsigned pulses = bar_pulses(p->phrase);
  const bool bars = p->request->click_bars;
  p->click_pulses = bars ? (double)pulses : 1.0;
  // Clicks are played at whole samples, and taken out where they are expected: a part of a sample
  // beside that, much of them would stay
  p->period = round(60.0 / p->bpm * p->rate_hz * p->click_pulses);
  // One bar, or two clicks where that would be one
  p->count_in = bars || pulses == 1 ? 2 : pulses;
  p->counted = 0;
  const SrClickPlan plan = {.plain = p->click_sound[0],
                            .plain_count = p->click_count[0],
                            .accent = p->click_sound[1],
                            .accent_count = p->click_count[1],
                            .period = p->period,
                            .bar_clicks = bars ? 1 : pulses,
                            .on_bars = p->request->on_bars,
                            .off_bars = p->request->off_bars,
                            .count_in = p->count_in,
                            .volume = (float)p->request->click_volume};
  p->clicking = true;
  p->click_began = false;
  p->silences_told = 0;
  return sr_stream_click(p->stream, &plan, &p->error);
}

/// No more clicks, and nothing more to take out.
static void
stop_click(Practice* const p)
{
  sr_stream_click_stop(p->stream);
  sr_click_remover_del(p->remover);
  p->remover = NULL;
  p->clicking = false;
}

/// Once the first click has left: take its like out of what comes in from here on.
static SrStatus
begin_removing(Practice* const p)
{
  if (!p->clicking || p->click_began || !sr_stream_click_began(p->stream, &p->click_frame)) {
    return SR_OK;
  }
  p->click_began = true;
  sr_click_remover_del(p->remover);
  p->remover_from = p->read;
  const SrClickSetting setting = {.rate_hz = p->rate_hz,
                                  .plain = p->click_sound[0],
                                  .plain_count = p->click_count[0],
                                  .accent = p->click_sound[1],
                                  .accent_count = p->click_count[1],
                                  .period = p->period,
                                  .bar_clicks = p->request->click_bars ? 1 : bar_pulses(p->phrase),
                                  .on_bars = p->request->on_bars,
                                  .off_bars = p->request->off_bars,
                                  .count_in = p->count_in,
                                  .began = (double)p->click_frame - (double)p->read};
  return sr_click_remover_new(&setting, &p->remover, &p->error);
}

/// When the player heard a click, s; NAN if that is not known.
static double
click_heard_s(const Practice* const p)
{
  if (!p->click_began || !p->remover) {
    return (double)NAN;
  }
  const double left_s = (double)p->click_frame / p->rate_hz;
  if (isfinite(p->round_trip_s)) {
    return left_s + p->round_trip_s;
  }
  return left_s + sr_setup_round_trip_s(&p->setup, sr_stream_input_name(p->stream),
                                        sr_stream_output_name(p->stream));
}

/// Keep when the click is silent, from when its first one was heard; the live judge wants to know.
static void
follow_silences(Practice* const p, const double first_s)
{
  const unsigned on = p->request->on_bars;
  const unsigned off = p->request->off_bars;
  const double bar = p->period * (p->request->click_bars ? 1.0 : (double)bar_pulses(p->phrase));
  const double start = first_s * p->rate_hz + (double)p->count_in * p->period +
                       ((double)p->silences_told * (on + off) + on) * bar;
  if (on == 0 || off == 0 || start > (double)p->read) {
    return;
  }
  sr_losses_add(&p->silences, (uint64_t)llround(start), (uint64_t)llround(start + off * bar));
  ++p->silences_told;
  SrSilence silences[SR_MOST_LOSSES];
  for (size_t i = 0; i < p->silences.count; ++i) {
    silences[i] = (SrSilence){(double)p->silences.lost[i].start / p->rate_hz,
                              (double)p->silences.lost[i].end / p->rate_hz, off};
  }
  sr_live_set_silences(p->live, silences, p->silences.count);
}

static void
follow_click(Practice* const p)
{
  if (!p->clicking) {
    return;
  }
  // What was heard once stays known while the click is looked for anew
  if (p->click_began && p->remover) {
    const SrClickHeard heard = sr_click_remover_heard(p->remover);
    p->round_trip_s = heard.heard ? heard.round_trip / p->rate_hz : p->round_trip_s;
  }
  const double heard_s = click_heard_s(p);
  sr_live_set_click(p->live, p->bpm, heard_s, p->period / p->rate_hz, p->click_pulses);
  if (!p->click_began) {
    return;
  }
  // With the click, not when it leaves: it has yet to get to the loudspeaker
  const double first_s =
      isfinite(heard_s) ? heard_s : (double)p->click_frame / p->rate_hz + SR_OUTPUT_LATENCY_S;
  follow_silences(p, first_s);
  while (p->counted < p->count_in &&
         now_s(p) >= first_s + (double)p->counted * p->period / p->rate_hz) {
    sr_view_count_in(&p->view, ++p->counted, p->count_in);
  }
}

// What the hand says -------------------------------------------------------------------------

/// Play the phrase to the player, as far as there is room now.
static void
feed_phrase(Practice* const p)
{
  float samples[CHUNK];
  while (p->phrase_sound && sr_stream_unplayed(p->stream) < (size_t)(0.5 * p->rate_hz)) {
    const size_t count = sr_sound_read(p->phrase_sound, samples, CHUNK);
    if (count == 0) {
      sr_sound_del(p->phrase_sound);
      p->phrase_sound = NULL;
      return; // the click begins when all of it has been played
    }
    sr_stream_play(p->stream, samples, count);
  }
}

static void
play_phrase(Practice* const p)
{
  SrSoundSettings settings = sr_sound_settings_default();
  SrProfile* const profile = sr_live_profile(p->live);
  settings.rate_hz = p->rate_hz;
  settings.tempo_bpm = p->bpm;
  settings.reference_hz = profile ? sr_profile_reference_hz(profile) : 440.0;
  sr_profile_del(profile);
  stop_click(p);
  p->click_moved = p->click_moved || p->click_began;
  if (sr_sound_new(p->phrase, &settings, &p->phrase_sound, NULL) == SR_OK) {
    sr_view_say(&p->view, "  Listen: this is how it is meant, at %.0f.", p->bpm);
  }
}

static void
slow_down(Practice* const p)
{
  p->bpm = fmax(20.0, SLOWER * p->bpm);
  p->tempo_changed = true;
  stop_click(p);
  sr_view_say(&p->view, "  Slower: %.0f pulses a minute.", p->bpm);
  start_click(p);
}

static void
take_signal(Practice* const p, const SrNews* const news)
{
  if (news->held_s >= FINISH_HELD_S) {
    sr_view_say(&p->view, "  The low note was held for %.1f s: that is enough.", news->held_s);
    p->over = true;
    p->asked = true;
  } else if (p->request->silent) {
    sr_view_say(&p->view, "  The low note was heard; without sound there is nothing to play.");
  } else if (isfinite(p->signal_s) && news->at_s - news->held_s - p->signal_s < SECOND_WITHIN_S) {
    p->signal_s = (double)NAN;
    slow_down(p);
  } else {
    p->signal_s = news->at_s;
    p->signal_rounds = p->played_count;
  }
}

/// A signal that no second one followed.
static void
answer_signal(Practice* const p)
{
  if (!isfinite(p->signal_s) || now_s(p) - p->signal_s <= SECOND_WITHIN_S) {
    return;
  }
  const bool in_round = sr_live_in_round(p->live);
  const bool is_late = now_s(p) - p->signal_s > 2.0 * SECOND_WITHIN_S;
  if (sr_live_signal_sounds(p->live) || (in_round && !is_late)) {
    return; // perhaps the second one; and what begins a round may yet come to nothing
  }
  // Who went on to play did not wait for it. What else is heard, such as talk, does not matter
  const bool waits = !in_round && p->played_count == p->signal_rounds;
  p->signal_s = (double)NAN;
  if (waits) {
    play_phrase(p);
  }
}

// What is heard ------------------------------------------------------------------------------

/// When a round began with all that belongs to it: before a false start, of which only the end is
/// told, by as long as its notes take.
static double
began_s(const Practice* const p, const SrRound* const round)
{
  double start_s = round->start_s;
  const double pulse = sr_fraction_value(sr_phrase_bar(p->phrase, 0)->pulse);
  const bool known = isfinite(round->pulse.played_bpm) && round->pulse.played_bpm > 0.0;
  const double whole_s = 60.0 / (known ? round->pulse.played_bpm : p->bpm) / pulse;
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    if (slip->kind == SR_SLIP_FALSE_START) {
      const SrPhraseNote* const last = sr_phrase_note(p->phrase, slip->note_index);
      const double length = sr_fraction_value(last->start) + sr_fraction_value(last->length);
      start_s = fmin(start_s, slip->at_s - length * whole_s);
    }
  }
  return start_s;
}

static void
remember_round(Practice* const p, const SrAssessment* const assessment)
{
  Played* const more = (Played*)realloc(p->played, (p->played_count + 1) * sizeof(Played));
  p->forgot_round = p->forgot_round || !more;
  if (more) {
    const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
    p->played = more;
    p->played[p->played_count++] = (Played){began_s(p, round), round->end_s, sr_round_row(round)};
  }
}

/// Once: why nothing is said of ahead and behind.
static void
tell_unmeasured(Practice* const p)
{
  if (!p->clicking || !p->click_began || p->told_unmeasured || isfinite(click_heard_s(p))) {
    return;
  }
  p->told_unmeasured = true;
  sr_view_paragraph(&p->view, 2,
                    "  Whether you were ahead of the click or behind it is not known: it is not in "
                    "the microphone. `steadyreed setup` measures your headphones.");
}

/// Once: why nothing is said of air.
static void
tell_air_untold(Practice* const p, const SrAssessment* const assessment)
{
  const char* const untold = sr_judge_air_untold(assessment->air_carriage);
  if (untold && !p->told_air_untold) {
    p->told_air_untold = true;
    sr_view_remark(&p->view, untold);
  }
}

static void
tell_news(Practice* const p)
{
  SrNews news;
  while (sr_live_pull(p->live, &news)) {
    sr_view_news(&p->view, &news);
    if (news.kind == SR_NEWS_ROUND) {
      remember_round(p, news.assessment);
      tell_unmeasured(p);
      tell_air_untold(p, news.assessment);
      p->over = p->over || (p->request->rounds && p->played_count >= p->request->rounds);
    } else if (news.kind == SR_NEWS_SIGNAL) {
      take_signal(p, &news);
    }
    sr_assessment_del(news.assessment);
  }
}

/// Whether what comes in now is our own phrase from the loudspeaker.
static bool
is_deaf(Practice* const p)
{
  if (p->phrase_sound || sr_stream_unplayed(p->stream) > 0) {
    p->deaf_until_s = now_s(p) + ECHO_S;
  }
  return now_s(p) < p->deaf_until_s;
}

static SrStatus
take_samples(Practice* const p, float* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    p->peak = fmaxf(p->peak, isfinite(samples[i]) ? fabsf(samples[i]) : 0.0f);
  }
  if (!p->request->silent && is_deaf(p)) {
    // As good as nothing; exact zeros would be taken for a microphone that is off
    for (size_t i = 0; i < count; ++i) {
      samples[i] = i % 2 ? DEAF_LEVEL : -DEAF_LEVEL;
    }
  }
  if (p->remover) {
    sr_click_remover_do(p->remover, samples, count);
  }
  sr_losses_find(&p->losses, p->read, samples, count);
  SrStatus status = SR_OK;
  if (p->recording) {
    status = sr_recording_write(p->recording, samples, count, &p->error);
  }
  p->read += count;
  const SrStatus heard = sr_live_push(p->live, samples, count, status == SR_OK ? &p->error : NULL);
  return status == SR_OK ? heard : status;
}

static void
show_level(Practice* const p)
{
  if (now_s(p) - p->last_level_s < LEVEL_EVERY_S) {
    return;
  }
  if (!sr_live_in_round(p->live) && (!p->clicking || p->counted >= p->count_in)) {
    sr_view_level(&p->view, 20.0 * log10((double)p->peak + 1e-9));
  }
  p->peak = 0.0f;
  p->last_level_s = now_s(p);
}

static void
tell_gaps(Practice* const p)
{
  const SrStreamTrouble trouble = sr_stream_trouble(p->stream);
  if (trouble.overruns > p->gaps_told) {
    sr_view_warn(&p->view,
                 "  The computer did not keep up for a moment (%llu samples lost so far); what was "
                 "played there is not judged.",
                 (unsigned long long)trouble.lost);
    p->gaps_told = trouble.overruns;
  }
}

/// Whether nobody has played for long. Talk may look like the first notes of a round for as long as
/// it goes on, so whether one is under way does not count, but when its last note was.
static bool
is_silent_long(const Practice* const p)
{
  const double silent_s = now_s(p) - fmax(sr_live_last_note_s(p->live), p->deaf_until_s);
  const double most_s = p->played_count ? p->request->silence_s : FIRST_WAIT_S;
  return !isfinite(p->signal_s) && silent_s > most_s;
}

static void
note_of(const Practice* const p, SrTakeNote* const note)
{
  const char* const title = sr_phrase_title(p->phrase);
  memset(note, 0, sizeof(*note));
  sr_take_note_title(note, title);
  // Of two tempi neither holds for all of it
  const double clicked_bpm = p->tempo_changed ? (double)NAN : p->bpm;
  note->target_bpm = p->request->silent ? p->request->judge.target_bpm : clicked_bpm;
  const bool steady = p->click_began && !p->tempo_changed && !p->click_moved;
  note->click_s = steady ? click_heard_s(p) : (double)NAN;
  note->click_period_s = steady ? p->period / p->rate_hz : (double)NAN;
  note->click_pulses = steady ? p->click_pulses : (double)NAN;
  note->losses = p->losses;
  note->silences = p->silences;
  note->silent_bars = p->request->off_bars;
}

/// Have the recording tell by now what it would at the end, in case there is none.
static void
renew_note(Practice* const p)
{
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  if (!p->recording || now_s(p) - p->last_note_s < NOTE_EVERY_S) {
    return;
  }
  p->last_note_s = now_s(p);
  note_of(p, &note);
  if (sr_take_note_write(&note, text) && strcmp(text, p->note) != 0 &&
      sr_recording_set_note(p->recording, text)) {
    memcpy(p->note, text, sizeof(text));
  }
}

/// One turn: take what is there, tell what is new.
static SrStatus
turn(Practice* const p)
{
  float samples[CHUNK];
  SrStatus status = sr_stream_wait(p->stream, WAIT_S, &p->error);
  size_t count;
  size_t chunks = 0;
  while (status == SR_OK && (count = sr_stream_read(p->stream, samples, CHUNK)) > 0) {
    status = begin_removing(p);
    if (status == SR_OK) {
      status = take_samples(p, samples, count);
    }
    if (status != SR_OK) {
      break;
    }
    follow_click(p);
    tell_news(p);
    if (++chunks >= MOST_CHUNKS) {
      break;
    }
  }
  if (status != SR_OK) {
    return status;
  }
  tell_gaps(p);
  sr_view_watch_input(&p->view, p->peak, now_s(p), sr_stream_input_name(p->stream));
  show_level(p);
  renew_note(p);
  feed_phrase(p);
  answer_signal(p);
  if (!p->request->silent && !p->clicking && !p->phrase_sound && now_s(p) > CLICK_AFTER_S &&
      now_s(p) >= p->deaf_until_s) {
    status = start_click(p);
  }
  if (sr_hands_free_asked() || ferror(p->view.stream)) {
    p->over = true;
    p->asked = true;
  }
  if (is_silent_long(p)) {
    sr_view_say(&p->view, "  Nothing has been played for a while: that is enough.");
    p->over = true;
  }
  return status;
}

// Beginning and end --------------------------------------------------------------------------

static SrStatus
begin_recording(Practice* const p)
{
  char* folder = NULL;
  SrStatus status = sr_takes_folder(&folder, &p->error);
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  note_of(p, &note);
  const bool noted = sr_take_note_write(&note, text);
  bool taken = status == SR_OK;
  while (taken) {
    char* path = NULL;
    status = sr_take_name(folder, sr_phrase_title(p->phrase), &path, &p->error);
    if (status == SR_OK) {
      status = sr_recording_new(path, p->rate_hz, noted ? text : NULL, &p->recording, &p->error);
    }
    // Another sitting that was begun in this second was quicker
    taken = status == SR_EXISTS;
    free(path);
  }
  free(folder);
  return status;
}

static SrStatus
begin(Practice* const p)
{
  SrStreamSettings settings = p->request->stream;
  settings.with_output = !p->request->silent;
  sr_guard_begin("steadyreed: The sound system of this computer is not set up (ALSA names no "
                 "device).\n",
                 SR_EXIT_DEVICE);
  SrStatus status = sr_stream_new(&settings, &p->stream, &p->error);
  sr_guard_end();
  if (status == SR_NOT_FOUND) {
    sr_name_devices(&p->error);
    return SR_DEVICE_TROUBLE;
  }
  if (status != SR_OK) {
    return status;
  }
  p->rate_hz = sr_stream_rate_hz(p->stream);
  for (size_t i = 0; i < 2; ++i) {
    p->click_count[i] = sr_sound_click(p->rate_hz, i == 1, p->click_sound[i], CLICK_SIZE);
  }
  SrLiveSettings live = sr_live_settings_default();
  live.rate_hz = p->rate_hz;
  live.judge = p->request->judge;
  live.profile = p->setup.profile;
  live.signal_midi = p->request->signal_midi;
  status = sr_live_new(p->phrase, &live, &p->live, &p->error);
  if (status == SR_OK && p->request->keeping != SR_KEEP_NOTHING) {
    status = begin_recording(p);
  }
  if (status == SR_OK) {
    status = sr_stream_start(p->stream, &p->error);
  }
  return status;
}

static void
greet(Practice* const p)
{
  sr_view_say(&p->view, "Listening to %s at %.0f Hz. Ctrl-C, q or Escape ends it;",
              sr_stream_input_name(p->stream), p->rate_hz);
  sr_view_say(&p->view, "so do %.0f s without a note after a round, talk or not.",
              p->request->silence_s);
  if (!p->request->silent) {
    sr_view_say(&p->view, "The click plays on %s, %.0f pulses a minute: begin with the volume low.",
                sr_stream_output_name(p->stream), p->bpm);
  }
  if (p->request->signal_midi >= 0) {
    sr_view_signals(&p->view, p->request->signal_midi, p->request->silent);
  }
  if (p->recording) {
    // A path of its own line, since with words before it few would fit
    sr_view_say(&p->view, "Recording to");
    sr_view_say(&p->view, "%s", sr_recording_path(p->recording));
  } else {
    sr_view_say(&p->view, "Nothing is recorded.");
  }
}

/// The parts of the recording to keep; the click goes on over the joints. Returns how many.
static size_t
choose_parts(const Practice* const p, SrStretch* const parts)
{
  size_t count = 0;
  uint64_t removed = 0;
  for (size_t r = 0; r < p->played_count; ++r) {
    const double from_s = fmax(0.0, p->played[r].start_s - KEEP_ABOUT_S);
    uint64_t start = (uint64_t)(from_s * p->rate_hz);
    const uint64_t end = (uint64_t)((p->played[r].end_s + KEEP_ABOUT_S) * p->rate_hz);
    const uint64_t before = count ? parts[count - 1].end : 0;
    if (count && start <= before + (uint64_t)p->rate_hz) {
      parts[count - 1].end = end > before ? end : before;
      continue;
    }
    if (p->click_began) {
      // Whole periods are taken out, so that the clicks stay where they were against the notes
      const double out = (double)(removed + start - before);
      const double whole = floor(out / p->period) * p->period;
      const double more = out - whole;
      start -= (double)(start - before) > more ? (uint64_t)lround(more) : 0;
    }
    removed += start - before;
    parts[count++] = (SrStretch){start, end};
  }
  return count;
}

/// Whether the recording is not cut: it was asked for, or it is not known for sure where its rounds
/// are.
static bool
keeps_all(const Practice* const p)
{
  return p->request->keeping == SR_KEEP_ALL || p->forgot_round;
}

/// Whether the recording stays when practice ends.
static bool
is_kept(const Practice* const p)
{
  return sr_recording_frames(p->recording) > 0 && (p->played_count > 0 || keeps_all(p));
}

/// Cut the recording to its rounds. SR_OK also if there was nothing to cut.
static SrStatus
cut_recording(Practice* const p, const char* const path)
{
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  note_of(p, &note);
  const bool written = sr_take_note_write(&note, text);
  const SrStretch whole = {0, UINT64_MAX};
  if (keeps_all(p)) {
    return sr_recording_cut(path, &whole, 1, written ? text : NULL, &p->error);
  }
  SrStretch* const parts = (SrStretch*)calloc(p->played_count + 1, sizeof(SrStretch));
  if (!parts) {
    return sr_error_set(&p->error, SR_NO_MEMORY, "There is not enough memory to cut the take.");
  }
  const size_t count = choose_parts(p, parts);
  note.losses = sr_losses_cut(&p->losses, parts, count);
  note.silences = sr_losses_cut(&p->silences, parts, count);
  // The clicks are where they were but for the whole periods taken out, and for these
  const double shift_s = (double)parts[0].start / p->rate_hz;
  if (isfinite(note.click_s)) {
    note.click_s -= shift_s;
  }
  const bool again = sr_take_note_write(&note, text);
  const SrStatus status = sr_recording_cut(path, parts, count, again ? text : NULL, &p->error);
  free(parts);
  return status;
}

/// Say where a recording is.
static void
say_kept(Practice* const p, const char* const path)
{
  sr_view_say(&p->view, "Kept, for your eyes only, in");
  sr_view_say(&p->view, "%s", path);
}

/// Judge the kept take as `assess` would, and show all rounds.
static int
sum_up(Practice* const p, const char* const path)
{
  SrJudgedTake take;
  int status = SR_EXIT_DONE;
  SrJudgeSettings settings = p->request->judge;
  settings.target_bpm = (double)NAN;
  if (sr_judged_take_make(p->phrase, path, &settings, true, &take) == SR_OK) {
    const SrShownTake shown = {.path = path,
                               .phrase = p->phrase,
                               .assessment = take.assessment,
                               .remarks = (const char* const*)take.remarks,
                               .remark_count = take.remark_count};
    sr_view_sum_up(&p->view, &shown);
    for (size_t i = 0; i < take.remark_count; ++i) {
      sr_view_remark(&p->view, take.remarks[i]);
    }
    say_kept(p, path);
  } else {
    sr_say_error(&take.error);
    status = SR_EXIT_NOT_JUDGED;
  }
  sr_judged_take_clear(&take);
  return status;
}

/// Nothing was kept: the rounds as they were told.
static void
show_table(Practice* const p)
{
  if (p->request->keeping != SR_KEEP_NOTHING || p->played_count == 0) {
    return;
  }
  sr_view_table_begin(&p->view, p->played_count);
  for (size_t r = 0; r < p->played_count; ++r) {
    sr_view_table_row(&p->view, r + 1, &p->played[r].row);
  }
}

/// Finish the recording. Returns an exit status.
static int
finish_recording(Practice* const p)
{
  if (!p->recording) {
    show_table(p);
    return SR_EXIT_DONE;
  }
  char* const path = strdup(sr_recording_path(p->recording));
  if (!is_kept(p)) {
    sr_recording_discard(p->recording);
    p->recording = NULL;
    free(path);
    return SR_EXIT_DONE;
  }
  SrStatus status = sr_recording_finish(p->recording, &p->error);
  p->recording = NULL;
  if (status == SR_OK && path) {
    status = cut_recording(p, path);
  }
  int exit_status = SR_EXIT_DONE;
  if (status != SR_OK) {
    // A disk that was full before is full still
    if (p->trouble != SR_WRITE_FAILED) {
      sr_say_error(&p->error);
    }
    exit_status = SR_EXIT_DEVICE;
  }
  if (path && p->played_count) {
    const int judged = sum_up(p, path);
    exit_status = exit_status ? exit_status : judged;
  } else if (path) {
    say_kept(p, path);
  }
  free(path);
  return exit_status;
}

/// What the player went on to play when the device was gone was not heard, and not missed.
static void
lose_the_rest(Practice* const p)
{
  float samples[CHUNK];
  for (size_t i = 0; i < CHUNK; ++i) {
    samples[i] = NAN;
  }
  for (uint64_t lost = 0; lost < (uint64_t)p->rate_hz; lost += CHUNK) {
    sr_live_push(p->live, samples, CHUNK, NULL);
    sr_losses_find(&p->losses, p->read + lost, samples, CHUNK);
  }
}

/// Have the error name the folder, if the recording will be gone when it is read.
static void
name_what_stays(Practice* const p)
{
  char* const path = p->recording ? strdup(sr_recording_path(p->recording)) : NULL;
  char* const slash = path ? strrchr(path, '/') : NULL;
  if (slash && p->trouble == SR_WRITE_FAILED && !is_kept(p)) {
    *slash = '\0';
    sr_error_place(&p->error, path, 0, 0);
  }
  free(path);
}

/// End it all. Returns an exit status.
static int
end(Practice* const p)
{
  int status = SR_EXIT_DONE;
  if (p->live) {
    if (p->trouble == SR_DEVICE_TROUBLE) {
      lose_the_rest(p);
    }
    if (sr_live_finish(p->live, NULL) != SR_OK || p->trouble == SR_NO_MEMORY) {
      p->forgot_round = true;
    }
    tell_news(p);
  }
  if (p->trouble != SR_OK) {
    if (p->read > 0) {
      sr_view_say(&p->view, "  Practice ends here.");
    }
    name_what_stays(p);
    sr_say_error(&p->error);
    status = p->trouble == SR_NO_MEMORY ? SR_EXIT_NOT_JUDGED : SR_EXIT_DEVICE;
  }
  sr_stream_del(p->stream);
  const int kept = finish_recording(p);
  if ((status == SR_EXIT_DONE || p->trouble == SR_WRITE_FAILED) && p->live && !p->played_count) {
    sr_view_warn(&p->view, "No round was heard%s.",
                 p->request->keeping == SR_KEEP_ROUNDS ? ", so nothing is kept" : "");
    status = status != SR_EXIT_DONE ? status : p->asked ? SR_EXIT_DONE : SR_EXIT_NOT_JUDGED;
  }
  return status ? status : kept;
}

int
sr_practise(const SrPracticeRequest* const request, const SrPhrase* const phrase)
{
  Practice* const p = (Practice*)calloc(1, sizeof(Practice));
  if (!p) {
    return SR_EXIT_NOT_JUDGED;
  }
  p->request = request;
  p->phrase = phrase;
  p->view = sr_practice_view(stdout, phrase, request->json, request->all_notes);
  p->signal_s = (double)NAN;
  p->round_trip_s = (double)NAN;
  p->bpm = isfinite(request->judge.target_bpm) ? request->judge.target_bpm : sr_sound_tempo(phrase);
  if (p->bpm < SR_SLOWEST_BPM || p->bpm > SR_FASTEST_BPM) {
    sr_say_format(stderr, "steadyreed: The phrase asks for %.0f pulses a minute; give --tempo.\n",
                  p->bpm);
    sr_view_clear(&p->view);
    free(p);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_setup_read_or_say(&p->setup);
  sr_signals_begin();
  p->trouble = begin(p);
  if (p->trouble == SR_OK) {
    sr_hands_free_begin();
    greet(p);
  }
  sr_quiet_begin();
  while (p->trouble == SR_OK && !p->over) {
    p->trouble = turn(p);
  }
  sr_quiet_end();
  const int status = end(p);
  sr_hands_free_end();
  sr_live_del(p->live);
  sr_click_remover_del(p->remover);
  sr_sound_del(p->phrase_sound);
  sr_setup_clear(&p->setup);
  sr_view_clear(&p->view);
  free(p->played);
  free(p);
  return status;
}
