// SPDX-License-Identifier: GPL-3.0-or-later

// What is reported of a round's notes, and when it is certain enough.
//
// A first note that turns out none is not taken back: that shows no new beginning, and the silence
// after it, or the next note, shows what it was.

#include "following.h"
#include "tuning.h"

SrNews*
sr_follow_report(SrLive* const l, const SrNewsKind kind)
{
  if (l->news_count == l->news_room) {
    const size_t room = l->news_room ? 2 * l->news_room : FIRST_NEWS;
    SrNews* const more = (SrNews*)realloc(l->news, room * sizeof(SrNews));
    if (!more) {
      l->lost = true;
      return NULL;
    }
    l->news = more;
    l->news_room = room;
  }
  SrNews* const news = &l->news[l->news_count++];
  memset(news, 0, sizeof(*news));
  news->kind = kind;
  news->at_s = sr_follow_now_s(l);
  news->round = l->round;
  return news;
}

bool
sr_live_pull(SrLive* const l, SrNews* const news)
{
  if (l->news_count == 0) {
    return false;
  }
  *news = l->news[0];
  --l->news_count;
  memmove(l->news, l->news + 1, l->news_count * sizeof(SrNews));
  return true;
}

/// Whether a note differs from its report.
static bool
differs(const Reported* const reported, const SrNoteVerdict* const note)
{
  return reported->status != note->status || reported->left_out != note->left_out ||
         reported->heard_midi != note->heard_midi || reported->joined != note->joined ||
         reported->has_cut != note->has_cut ||
         (note->has_cut && reported->cut != note->cut.verdict);
}

double
sr_follow_cents_over_reed(const SrLive* const l, const int midi, const double frequency_hz)
{
  double cents = 0.0;
  sr_profile_reed(l->profile, midi, &cents);
  const double a4 = sr_profile_reference_hz(l->profile);
  return 1200.0 * log2(frequency_hz / a4) - 100.0 * (midi - 69) - cents;
}

bool
sr_follow_is_sharp(const SrLive* const l, const SrEvent* const event)
{
  return isfinite(event->frequency_hz) && sr_profile_reed(l->profile, event->midi, NULL) &&
         sr_follow_cents_over_reed(l, event->midi, event->frequency_hz) > MOST_SHARP_CENTS;
}

/// Whether a note still sounds, and so clearly or for so long that it is hardly speech.
static bool
is_sure(const SrLive* const l, const SrNoteVerdict* const note)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    const double lasted_s = open->seen_s - open->falling_s;
    const double clear = lasted_s < CLEAR_S ? CLEARER_FIT : CLEAR_FIT;
    if (open->event.midi == note->heard_midi && !sr_follow_is_sharp(l, &open->event) &&
        (lasted_s >= HELD_S || open->event.fit >= clear)) {
      return true;
    }
  }
  return false;
}

/// When a note was heard to start; for a joined note the cut on top of it; NAN if neither.
static double
heard_from(const SrNoteVerdict* const note)
{
  return isfinite(note->onset_s) || !note->has_cut ? note->onset_s : note->cut.onset_s;
}

/// When a note's own sound started, after its cut.
static double
sound_from(const SrNoteVerdict* const note)
{
  const double cut_s = note->has_cut ? note->cut.onset_s + 1e-3 * note->cut.length_ms : (double)NAN;
  return isfinite(cut_s) ? cut_s : note->onset_s;
}

double
sr_follow_in_pulses(const SrLive* const l, const SrFraction length)
{
  return sr_fraction_value(length) / sr_fraction_value(sr_phrase_bar(l->phrase, 0)->pulse);
}

/// Number of notes at the start of a round that came as written, at a plausible tempo.
static size_t
right_notes(const SrLive* const l, const SrSoFar* const so_far, const TempoRange range)
{
  const double likely = sr_judge_likely_bpm(l->phrase, &l->settings.judge);
  const SrNoteVerdict* before = NULL;
  size_t right = 0;
  for (size_t i = 0; i < so_far->reached; ++i) {
    const SrNoteVerdict* const note = &so_far->notes[i];
    const bool stray = note->has_cut && note->cut.verdict == SR_CUT_STRAY;
    const double from_s = heard_from(note);
    const bool sounds = isfinite(from_s);
    bool fits = note->status == SR_NOTE_PLAYED && sounds && !(i == 0 && stray);
    if (before && sounds) {
      const double pulses = sr_follow_in_pulses(l, sr_phrase_note(l->phrase, note->index)->start) -
                            sr_follow_in_pulses(l, sr_phrase_note(l->phrase, before->index)->start);
      const double bpm = 60.0 * pulses / (from_s - heard_from(before));
      fits = fits && bpm > likely / range.slower && bpm < likely * range.faster;
    }
    before = sounds ? note : before;
    right += fits;
  }
  return right;
}

/// Whether a round so far may be only speech: one sound that is not its first note or has only just
/// begun, or a few that do not agree in tempo. They are reported when more follows.
static bool
is_doubtful(const SrLive* const l, const SrSoFar* const so_far)
{
  size_t sounds = 0;
  for (size_t i = 0; i < so_far->reached; ++i) {
    sounds += isfinite(heard_from(&so_far->notes[i])) ? 1 : 0;
  }
  if (sounds < 2) {
    return !(right_notes(l, so_far, TWO_GO) == 1 && so_far->reached == 1 &&
             is_sure(l, so_far->notes));
  }
  return sounds <= FEW_NOTES && right_notes(l, so_far, TWO_GO) < 2 &&
         right_notes(l, so_far, THREE_GO) < 3;
}

/// Whether a pitch is a grace of a written note, or briefly looks like one: its octave, or the
/// semitone below, since reeds start flat.
static bool
is_like_grace(const SrPhraseNote* const written, const int midi)
{
  for (int k = -1; k < written->ornament_count; ++k) {
    const int grace = k < 0 ? written->cut_midi : written->ornament_midi[k];
    const int apart = midi - grace;
    if (grace >= 0 && (apart == 0 || apart == -1 || abs(apart) == 12)) {
      return true;
    }
  }
  return false;
}

/// How long a wrong note must have sounded to be reported, s. A doubled note's octave speaks first,
/// the previous note may seem to restart, and a reed that starts flat looks like the one below; so
/// do graces. After the last note nothing more is expected, so any flicker would be taken for it.
static double
wait_for_wrong_s(const SrLive* const l, const SrNoteVerdict* const note)
{
  const size_t next = note->index + 1;
  const int apart = note->heard_midi - note->midi;
  const bool before =
      note->index > 0 && note->heard_midi == l->reported[note->index - 1].heard_midi;
  if (next == sr_phrase_note_count(l->phrase) || abs(apart) == 12 || before ||
      is_like_grace(sr_phrase_note(l->phrase, note->index), note->heard_midi)) {
    return NO_CUT_S;
  }
  return apart == -1 ? FLAT_S : 0.0;
}

/// Whether a wrong note at the end of what has been played has only just begun.
static bool
is_young_wrong(const SrLive* const l, const SrNoteVerdict* const note)
{
  if (note->status != SR_NOTE_WRONG) {
    return false;
  }
  const double wait_s = wait_for_wrong_s(l, note);
  bool young = false;
  for (size_t i = 0; i < l->open_count; ++i) {
    young |= sr_event_own_midi(&l->open[i].event) == note->heard_midi && l->open[i].seen_s < wait_s;
  }
  return young;
}

void
sr_follow_report_notes(SrLive* const l, const SrSoFar* const so_far)
{
  if (so_far->reached > 0 && so_far->reached < sr_phrase_note_count(l->phrase) &&
      is_doubtful(l, so_far)) {
    return;
  }
  double onset_s = 0.0;
  const bool goes_on =
      sr_phrase_note_count(l->phrase) > TRIED_NOTES && l->reported[TRIED_NOTES].reported;
  for (size_t i = 0; i < so_far->reached; ++i) {
    const SrNoteVerdict* const note = &so_far->notes[i];
    Reported* const reported = &l->reported[i];
    // A note that started after its report was played again; a joined note started with the one
    // before
    onset_s = isfinite(note->onset_s) ? note->onset_s : onset_s;
    // A first report may have been of speech or a tried note; the next note shows that the round
    // began later
    const bool later = i < TRIED_NOTES && so_far->reached > i + 1 && !goes_on &&
                       onset_s > reported->at_s + SAME_ROUND_S;
    const bool again = later || (reported->left && onset_s > reported->at_s);
    if (note->left_out && !reported->reported) {
      continue;
    }
    if (i + 1 == so_far->reached && is_young_wrong(l, note)) {
      l->waits = true;
      continue;
    }
    if (!reported->reported || again || differs(reported, note)) {
      SrNews* const news =
          sr_follow_report(l, reported->reported && !again ? SR_NEWS_AMENDED : SR_NEWS_NOTE);
      if (news) {
        news->note = *note;
      }
      *reported = (Reported){.reported = true,
                             .left_out = note->left_out,
                             .at_s = sr_follow_now_s(l),
                             .sound_s = sound_from(note),
                             .status = note->status,
                             .heard_midi = note->heard_midi,
                             .joined = note->joined,
                             .has_cut = note->has_cut,
                             .cut = note->cut.verdict};
    }
    reported->left = false;
    if (note->end_s > l->last_end_s) {
      l->last_end_s = note->end_s;
    }
  }
}

size_t
sr_follow_count_reported(const SrLive* const l)
{
  size_t count = 0;
  for (size_t i = 0; i < l->reached; ++i) {
    count += l->reported[i].reported;
  }
  return count;
}
