// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_maker.h"

#include "kept_takes.h"
#include "room.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// RMS of a note before all is brought to its level.
#define NOTE_RMS 0.1
/// Where the largest sample comes to if nothing else is said.
#define PEAK_DBFS (-5.0)

/// How loud an octave under a note is if nothing else is said.
#define OCTAVE_DB (-3.098)
/// The least and the highest pitch of a coupled reed.
#define COUPLED_LEAST 43
#define COUPLED_MOST 100

/// One tone.
typedef struct {
  int midi;
  double onset_s;
  double end_s;
  double gain;
  bool main; ///< A melody note's own sound
  unsigned round;
  size_t note;
  Sag sag;
} Tone;

typedef struct {
  const SrPhrase* phrase;
  const TakePlan* plan;
  Take* take;
  Random random;
  Random graces; ///< Of its own, so that the rest of a take does not hang on its ornaments
  Tone* tones;
  size_t tone_count;
  double* clicks;
  size_t click_count;
  double cents[128];
  unsigned round;
  Random under; ///< For what sounds below the melody, so that this itself stays as it is without
} Maker;

TakePlan
take_plan_default(void)
{
  const TakePlan plan = {.seed = 1,
                         .attack_ms = 12.0,
                         .octave_db = OCTAVE_DB,
                         .direct_db = 10.0,
                         .floor_db = -65.0,
                         .peak_dbfs = PEAK_DBFS,
                         .reference_hz = 440.0,
                         .bpm = 80.0,
                         .rounds = 1,
                         .pause_s = 2.0};
  return plan;
}

void
take_del(Take* const take)
{
  if (take) {
    for (size_t r = 0; r < take->round_count; ++r) {
      free(take->rounds[r].notes);
    }
    free(take->rounds);
    free(take->pauses);
    free(take->extra_s);
    free(take->under);
    free(take->air);
    free(take->samples);
    free(take);
  }
}

static void
add_tone(Maker* const m, const int midi, const double onset_s, const double end_s)
{
  m->tones = (Tone*)realloc(m->tones, (m->tone_count + 2) * sizeof(Tone));
  const double gain = NOTE_RMS * pow(10.0, random_between(&m->random, -1.0, 1.0) / 20.0);
  m->tones[m->tone_count++] =
      (Tone){.midi = midi, .onset_s = onset_s, .end_s = end_s, .gain = gain};
}

/// A note's main sound, with its octave if there is one.
static void
add_main(Maker* const m, const size_t note, const int midi, const double onset_s,
         const double end_s)
{
  add_tone(m, midi, onset_s, end_s);
  m->tones[m->tone_count - 1].main = true;
  m->tones[m->tone_count - 1].round = m->round;
  m->tones[m->tone_count - 1].note = note;
  if (m->plan->octave && midi - 12 >= 43) {
    add_tone(m, midi - 12, onset_s, end_s);
    m->tones[m->tone_count - 1].gain *= pow(10.0, m->plan->octave_db / 20.0);
  }
}

/// How long a reed takes at least to be played again, s.
#define AGAIN_S 0.03
/// The shortest note below the melody, s.
#define LEAST_UNDER_S 0.05
/// A written chord's lower notes are so much softer than the melody, dB.
#define CHORD_LEAST_DB 0.0
#define CHORD_MOST_DB 5.0
#define CHORD_SCATTER_S 0.006

/// Add a sound below the melody, as long as no other one of that reed is there.
static void
add_under(Maker* const m, const int midi, double onset_s, double end_s, const double under_db)
{
  Take* const take = m->take;
  const double gain =
      NOTE_RMS * pow(10.0, (random_between(&m->under, -1.0, 1.0) - under_db) / 20.0);
  for (size_t t = 0; t < m->tone_count; ++t) {
    const Tone* const tone = &m->tones[t];
    if (tone->midi == midi && tone->onset_s < end_s + AGAIN_S && tone->end_s > onset_s - AGAIN_S) {
      if (tone->onset_s > onset_s) {
        end_s = fmin(end_s, tone->onset_s - AGAIN_S);
      } else {
        onset_s = fmax(onset_s, tone->end_s + AGAIN_S);
      }
    }
  }
  for (size_t i = 0; i < take->under_count; ++i) {
    TruthUnder* const other = &take->under[i];
    if (other->midi == midi && other->end_s > onset_s - AGAIN_S) {
      other->end_s = fmax(other->onset_s + LEAST_UNDER_S, onset_s - AGAIN_S);
    }
  }
  if (end_s - onset_s >= LEAST_UNDER_S) {
    take->under = (TruthUnder*)realloc(take->under, (take->under_count + 1) * sizeof(TruthUnder));
    take->under[take->under_count++] = (TruthUnder){midi, onset_s, end_s, gain};
  }
}

/// The other notes of the chords that are written, and the accompaniment, of a round.
static void
play_under(Maker* const m, const double* const starts, const size_t stop,
           const TruthNote* const truth)
{
  const size_t count = sr_phrase_note_count(m->phrase);
  int* const heard = (int*)malloc(count * sizeof(int));
  AccompanimentNote* const notes =
      (AccompanimentNote*)malloc(MOST_ACCOMPANIMENT * count * sizeof(AccompanimentNote));
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(m->phrase, i);
    heard[i] = truth[i].heard_midi;
    for (int c = 0; c < note->chord_count && truth[i].status == SR_NOTE_PLAYED; ++c) {
      const double scatter = fmin(2.0, fmax(-2.0, random_normal(&m->under)));
      add_under(m, note->chord_midi[c], starts[i] + CHORD_SCATTER_S * scatter,
                starts[i + 1] - random_between(&m->under, 0.0, 0.03),
                random_between(&m->under, CHORD_LEAST_DB, CHORD_MOST_DB));
    }
  }
  const size_t added =
      accompany(m->phrase, &m->plan->accompaniment, starts, heard, stop, &m->under, notes);
  for (size_t i = 0; i < added; ++i) {
    add_under(m, notes[i].midi, notes[i].onset_s, notes[i].end_s, m->plan->accompaniment.under_db);
  }
  free(heard);
  free(notes);
}

static void
add_pause(Maker* const m, const double start_s, const double end_s, const bool speech)
{
  Take* const take = m->take;
  take->pauses = (TruthPause*)realloc(take->pauses, (take->pause_count + 1) * sizeof(TruthPause));
  take->pauses[take->pause_count++] = (TruthPause){start_s, end_s, speech};
}

/// A clean cut takes no more of its note than this: under the share that would make it long.
#define CLEAN_SHARE 0.33

/// What becomes of a note.
typedef enum { PLAYED, MISSED, WRONG, WITH_EXTRA } Fate;

/// How the way into a repeated note goes.
typedef enum { PLAIN, CLEAN, LONG, ON_TOP, BARE, ABSENT } Way;

static bool
repeats(const SrPhrase* const phrase, const size_t i)
{
  return i > 0 && i < sr_phrase_note_count(phrase) &&
         sr_phrase_note(phrase, i)->midi == sr_phrase_note(phrase, i - 1)->midi;
}

static Way
choose_way(Maker* const m, const size_t i)
{
  const TakePlan* const plan = m->plan;
  const bool again = repeats(m->phrase, i);
  if (sr_phrase_note(m->phrase, i)->cut_midi < 0) {
    return again ? ABSENT : PLAIN;
  }
  double chance = random_unit(&m->random);
  if (chance < plan->p_long) {
    return LONG;
  }
  chance -= plan->p_long;
  if (again && chance < plan->p_on_top) {
    return ON_TOP;
  }
  chance -= plan->p_on_top;
  if (again && chance < plan->p_bare) {
    return BARE;
  }
  chance -= plan->p_bare;
  if (chance < plan->p_absent && chance >= 0.0) {
    return again ? ABSENT : PLAIN;
  }
  return CLEAN;
}

static Fate
choose_fate(Maker* const m, const size_t i)
{
  // Only where it is beyond doubt which note it was
  const bool alone = !repeats(m->phrase, i) && !repeats(m->phrase, i + 1) &&
                     sr_phrase_note(m->phrase, i)->ornament == SR_ORNAMENT_NONE && i > 0 &&
                     i + 1 < sr_phrase_note_count(m->phrase);
  double chance = random_unit(&m->random);
  if (!alone) {
    return PLAYED;
  }
  if (chance < m->plan->p_missed) {
    return MISSED;
  }
  chance -= m->plan->p_missed;
  if (chance < m->plan->p_wrong) {
    return WRONG;
  }
  chance -= m->plan->p_wrong;
  return chance < m->plan->p_extra ? WITH_EXTRA : PLAYED;
}

static double
lilt_offset(const TakePlan* const plan, const double place, const double pulse_s)
{
  // The first of three quavers long, the second short; the first of two or of each pair long
  if (fabs(place - 1.0 / 3.0) < 1e-6) {
    return plan->lilt * pulse_s / 3.0;
  }
  if (fabs(place - 0.5) < 1e-6) {
    return plan->lilt * pulse_s / 2.0;
  }
  return 0.0;
}

/// When each note of a round is begun.
static void
time_notes(Maker* const m, const double zero_s, double* const starts, const size_t count)
{
  const SrPhrase* const phrase = m->phrase;
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  const double pulse_s = 60.0 / m->plan->bpm;
  const double length = sr_fraction_value(sr_phrase_note(phrase, count - 1)->start) / pulse;
  const double drift = m->plan->drift_percent / 100.0;
  const double bend = length > 0.0 ? (1.0 / (1.0 + drift) - 1.0) / (2.0 * length) : 0.0;
  double wait = 0.0;
  const size_t middle = count / 2;
  const double middle_pulses = sr_fraction_value(sr_phrase_note(phrase, middle)->start) / pulse;
  const double faster = m->plan->faster;
  for (size_t i = 0; i < count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double written = sr_fraction_value(note->start) / pulse;
    const double x = faster > 0.0 && written > middle_pulses
                         ? middle_pulses + (written - middle_pulses) / faster
                         : written;
    const double in_pulse = sr_fraction_value(note->in_bar) / pulse;
    const double place = in_pulse - floor(in_pulse + 1e-9);
    double jitter = random_normal(&m->random);
    jitter = fmin(2.5, fmax(-2.5, jitter)) * 1e-3 * m->plan->jitter_ms;
    if (i == middle) {
      wait += m->plan->hesitate ? random_between(&m->random, 0.5, 0.9) : m->plan->break_s;
    }
    starts[i] = zero_s + pulse_s * (x + bend * x * x) + lilt_offset(m->plan, place, pulse_s) +
                jitter + wait;
    if (i > 0 && starts[i] < starts[i - 1] + 0.06) {
      starts[i] = starts[i - 1] + 0.06;
    }
  }
}

static TruthNote
truth_of(const SrPhrase* const phrase, const size_t i)
{
  const SrPhraseNote* const note = sr_phrase_note(phrase, i);
  return (TruthNote){.index = i,
                     .midi = note->midi,
                     .status = SR_NOTE_PLAYED,
                     .heard_midi = note->midi,
                     .onset_s = (double)NAN,
                     .respeak_s = (double)NAN,
                     .joined = repeats(phrase, i) ? SR_NO : SR_NOT_ASKED,
                     .has_cut = note->cut_midi >= 0,
                     .verdict = SR_CUT_CLEAN,
                     .cut_length_ms = (double)NAN};
}

/// How long each of several graces before a note is, and how long before the beat the first of them
/// begins, s. `before_s` and `room_s` are the steps to the note and from it.
static double
choose_graces(Maker* const m, const SrPhraseNote* const note, const double before_s,
              const double room_s, double* const ahead_s)
{
  *ahead_s = 0.0;
  if (note->ornament_count == 0 || note->ornament == SR_ORNAMENT_ROLL) {
    return 0.0;
  }
  const double count = (double)note->ornament_count;
  const double each_s = fmin(random_between(&m->graces, 0.030, 0.055), 0.4 * room_s / count);
  // Not at the cost of a quick note
  if (random_unit(&m->graces) < m->plan->p_ahead && count * each_s < 0.4 * before_s) {
    *ahead_s = count * each_s;
  }
  return each_s;
}

/// Whether a note begins with a grace at a pitch that sounded just before.
static bool
begins_with(const SrPhraseNote* const note, const Way way, const int midi)
{
  const bool single = (way == CLEAN || way == LONG) && note->cut_midi == midi;
  return single || (note->ornament != SR_ORNAMENT_ROLL && note->ornament_count > 0 &&
                    note->ornament_midi[0] == midi);
}

/// A roll: note, cut, note, strike, note, in about three equal parts.
static void
play_roll(Maker* const m, const size_t i, const double from_s, const double end_s,
          TruthNote* const truth)
{
  const SrPhraseNote* const note = sr_phrase_note(m->phrase, i);
  const double third_s = (end_s - from_s) / 3.0;
  double at_s = from_s;
  for (int part = 1; part < 3; ++part) {
    // The cut is the first pitch above, the strike the first below
    int grace = 0;
    for (int k = note->ornament_count; k-- > 0;) {
      const int midi = note->ornament_midi[k];
      grace = (part == 1 ? midi > note->midi : midi < note->midi) ? midi : grace;
    }
    const double cut_s = from_s + part * third_s + random_between(&m->graces, -0.1, 0.1) * third_s;
    const double length_s = fmin(random_between(&m->graces, 0.020, 0.050), 0.33 * third_s);
    add_main(m, i, note->midi, at_s, cut_s);
    add_tone(m, grace, cut_s, cut_s + length_s);
    at_s = cut_s + length_s;
    ++truth->graces;
  }
  add_main(m, i, note->midi, at_s, end_s);
}

/// Play notes `first` to before `last` of one round; gives the time at which it ends.
static double
play_round(Maker* const m, const double zero_s, const size_t stop, TruthNote* const truth)
{
  const SrPhrase* const phrase = m->phrase;
  const size_t count = sr_phrase_note_count(phrase);
  double* const starts = (double*)malloc((count + 1) * sizeof(double));
  Fate* const fates = (Fate*)malloc(count * sizeof(Fate));
  Way* const ways = (Way*)malloc((count + 1) * sizeof(Way));
  double* const cuts = (double*)calloc(count + 1, sizeof(double));
  double* const graces = (double*)calloc(count + 1, sizeof(double));
  double* const ahead = (double*)calloc(count + 1, sizeof(double));
  time_notes(m, zero_s, starts, count);
  const double spw = 60.0 / m->plan->bpm / sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  starts[count] =
      starts[count - 1] + sr_fraction_value(sr_phrase_note(phrase, count - 1)->length) * spw;
  ways[count] = PLAIN;
  for (size_t i = 0; i < count; ++i) {
    fates[i] = choose_fate(m, i);
    ways[i] = choose_way(m, i);
    graces[i] = choose_graces(m, sr_phrase_note(phrase, i), i > 0 ? starts[i] - starts[i - 1] : 1.0,
                              starts[i + 1] - starts[i], &ahead[i]);
    const double room = 0.55 * (starts[i + 1] - starts[i]);
    if (ways[i] == CLEAN || ways[i] == ON_TOP) {
      cuts[i] =
          fmin(random_between(&m->random, 0.020, 0.060), CLEAN_SHARE * (starts[i + 1] - starts[i]));
    } else if (ways[i] == LONG) {
      cuts[i] = fmax(0.09, fmin(random_between(&m->random, 0.090, 0.150), room));
    } else if (ways[i] == ABSENT) {
      cuts[i] = random_between(&m->random, 0.015, 0.040); // the gap before it
    }
  }
  unsigned cut = 0;
  for (size_t i = 0; i < count; ++i) {
    const bool has_cut = sr_phrase_note(phrase, i)->cut_midi >= 0;
    if (m->plan->joined_rows && ways[i] == CLEAN && repeats(phrase, i) && repeats(phrase, i + 1)) {
      ways[i] = BARE;
      ways[i + 1] = ON_TOP;
    }
    cut += has_cut;
    if (m->plan->skip_cuts && has_cut && cut % m->plan->skip_cuts == 0) {
      fates[i] = MISSED;
    }
  }
  for (size_t i = 0; i + 1 < count; ++i) {
    // The graces of the next note may take some of this one
    if (ways[i] == CLEAN || ways[i] == ON_TOP) {
      cuts[i] = fmin(cuts[i], CLEAN_SHARE * (starts[i + 1] - ahead[i + 1] - starts[i]));
    }
  }
  double end_s = zero_s;
  for (size_t i = 0; i < count; ++i) {
    truth[i] = truth_of(phrase, i);
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (i >= stop || fates[i] == MISSED) {
      truth[i].status = SR_NOTE_MISSED;
      truth[i].heard_midi = -1;
      truth[i].has_cut = false;
      truth[i].joined = repeats(phrase, i) ? SR_NO : SR_NOT_ASKED;
      continue;
    }
    const bool held = ways[i] == ON_TOP || ways[i] == BARE;
    if (ways[i] == ON_TOP) {
      add_tone(m, note->cut_midi, starts[i], starts[i] + cuts[i]);
      truth[i].cut_length_ms = 1e3 * cuts[i];
    }
    if (held) {
      truth[i].joined = SR_YES;
      truth[i].verdict = SR_CUT_JOINED;
      continue;
    }
    // How long the sound goes on: through all notes that are joined to it
    size_t next = i + 1;
    while (next < count && next < stop && (ways[next] == ON_TOP || ways[next] == BARE)) {
      ++next;
    }
    double off = starts[next] - ahead[next];
    if (next < count && next < stop &&
        begins_with(sr_phrase_note(phrase, next), ways[next], note->midi)) {
      // The grace is this very reed, which lets go before it
      off -= fmin(random_between(&m->graces, 0.030, 0.050), 0.25 * (off - starts[i]));
    } else if (next < count && next < stop && ways[next] == ABSENT && repeats(phrase, next)) {
      off -= cuts[next];
    } else if (next < count && !repeats(phrase, next) && ways[next] != CLEAN &&
               ways[next] != LONG) {
      off += random_between(&m->random, 0.0, 1e-3 * m->plan->overlap_ms);
    }
    if (next == count || next == stop) {
      off = starts[i] + 0.92 * (starts[next] - starts[i]);
    }
    double on = starts[i] - ahead[i];
    const double onset = on;
    for (int k = 0; k < note->ornament_count && graces[i] > 0.0; ++k) {
      add_tone(m, note->ornament_midi[k], on, on + graces[i]);
      truth[i].graces += note->ornament_midi[k] != note->midi;
      on += graces[i];
    }
    if (ways[i] == CLEAN || ways[i] == LONG) {
      add_tone(m, note->cut_midi, on, on + cuts[i]);
      on += cuts[i];
      truth[i].cut_length_ms = 1e3 * cuts[i];
      truth[i].verdict = ways[i] == LONG ? SR_CUT_LONG : SR_CUT_CLEAN;
    } else {
      truth[i].verdict = SR_CUT_ABSENT;
    }
    truth[i].onset_s = onset;
    truth[i].respeak_s = on;
    int midi = note->midi;
    if (fates[i] == WRONG) {
      static const int steps[] = {-3, -2, -1, 1, 2, 3};
      // Never the pitch of a neighbour, with which it would be one sound
      do {
        midi = note->midi + steps[random_next(&m->random) % 6u];
      } while (midi == sr_phrase_note(phrase, i - 1)->midi ||
               midi == sr_phrase_note(phrase, i + 1)->midi);
      truth[i].status = SR_NOTE_WRONG;
      truth[i].heard_midi = midi;
      truth[i].has_cut = false;
    }
    if (fates[i] == WITH_EXTRA && off - on > 0.15) {
      const double from = on + 0.5 * (off - on);
      const int other = note->midi + (random_unit(&m->random) < 0.5 ? -2 : 4);
      add_main(m, i, midi, on, from);
      add_tone(m, other, from, off);
      m->take->extra_s =
          (double*)realloc(m->take->extra_s, (m->take->insertion_count + 1) * sizeof(double));
      m->take->extra_s[m->take->insertion_count++] = from;
    } else if (note->ornament == SR_ORNAMENT_ROLL && random_unit(&m->graces) >= m->plan->p_plain) {
      play_roll(m, i, on, off, &truth[i]);
    } else {
      add_main(m, i, midi, on, off);
    }
    end_s = off;
  }
  play_under(m, starts, stop, truth);
  if (m->plan->metronome_db < 0.0) {
    const double pulse_s = 60.0 / m->plan->bpm;
    for (double t = zero_s; t < end_s; t += pulse_s) {
      m->clicks = (double*)realloc(m->clicks, (m->click_count + 1) * sizeof(double));
      m->clicks[m->click_count++] = t;
    }
  }
  free(starts);
  free(fates);
  free(ways);
  free(cuts);
  free(graces);
  free(ahead);
  return end_s;
}

/// A short burst of a sine or of noise at each beat.
static void
add_metronome(Maker* const m)
{
  const double level = NOTE_RMS * 1.4 * pow(10.0, m->plan->metronome_db / 20.0);
  const bool noise = m->plan->seed % 2;
  for (size_t c = 0; c < m->click_count; ++c) {
    const size_t from = (size_t)fmax(0.0, m->clicks[c] * m->take->rate_hz);
    for (size_t i = from; i < from + 2200 && i < m->take->count; ++i) {
      const double t = (double)(i - from) / m->take->rate_hz;
      const double value = noise ? random_normal(&m->random) : sin(2.0 * M_PI * 1480.0 * t);
      m->take->samples[i] += (float)(level * 1.4 * value * exp(-t / 0.008));
    }
  }
}

/// A wooden knock as each button goes down.
static void
add_key_clicks(Maker* const m)
{
  for (size_t k = 0; k < m->tone_count; ++k) {
    const double at_s = m->tones[k].onset_s - random_between(&m->random, 0.004, 0.015);
    const size_t from = (size_t)fmax(0.0, at_s * m->take->rate_hz);
    const double level = NOTE_RMS * pow(10.0, random_between(&m->random, -35.0, -20.0) / 20.0);
    const double decay = random_between(&m->random, 0.002, 0.006);
    const double hz = random_between(&m->random, 600.0, 2500.0);
    double state[2] = {0.0, 0.0};
    const double radius = 0.97;
    for (size_t i = from; i < from + 1500 && i < m->take->count; ++i) {
      const double t = (double)(i - from) / m->take->rate_hz;
      const double excite = random_normal(&m->random) * exp(-t / decay);
      const double value = excite +
                           2.0 * radius * cos(2.0 * M_PI * hz / m->take->rate_hz) * state[0] -
                           radius * radius * state[1];
      state[1] = state[0];
      state[0] = value;
      m->take->samples[i] += (float)(level * 0.25 * value);
    }
  }
}

/// Someone talks in the pauses; by espeak-ng, if it is there.
static void
add_speech(Maker* const m)
{
  static const char* const words[] = {
      "That was nearly it. One more time, and keep the second note lighter.",
      "Where did I put the list for the session? Right. From the top, then.",
      "Three weeks to go. Slower now, and listen to the low notes.",
      "Wait, wait. Again, and count it in: one, two, three, four, five, six."};
  static const char* const voices[] = {"en", "en+f3", "en-us", "en+m4"};
  for (size_t p = 0; p < m->take->pause_count; ++p) {
    const TruthPause* const pause = &m->take->pauses[p];
    if (!pause->speech) {
      continue;
    }
    char path[] = "/tmp/steadyreed-speech-XXXXXX";
    const int descriptor = mkstemp(path);
    if (descriptor < 0) {
      continue;
    }
    close(descriptor);
    const size_t pick = (size_t)(random_next(&m->random) % 4u);
    char command[512];
    snprintf(command, sizeof(command), "espeak-ng -v %s -s 160 -w '%s' '%s' >/dev/null 2>&1",
             voices[(pick + p) % 4], path, words[pick]);
    SF_INFO info = {0};
    SNDFILE* const file = system(command) == 0 ? sf_open(path, SFM_READ, &info) : NULL;
    if (file && info.channels == 1 && info.frames > 0) {
      float* const voice = (float*)malloc((size_t)info.frames * sizeof(float));
      const sf_count_t read = sf_readf_float(file, voice, info.frames);
      const double ratio = (double)info.samplerate / m->take->rate_hz;
      const size_t from = (size_t)((pause->start_s + 0.4) * m->take->rate_hz);
      const size_t to = (size_t)((pause->end_s - 0.4) * m->take->rate_hz);
      for (size_t i = from; i < to && i < m->take->count; ++i) {
        const double at = (double)(i - from) * ratio;
        const size_t index = (size_t)at;
        if ((sf_count_t)index + 1 >= read) {
          break;
        }
        const double part = at - (double)index;
        const double value = (1.0 - part) * (double)voice[index] + part * (double)voice[index + 1];
        m->take->samples[i] += (float)(0.5 * value);
      }
      free(voice);
    }
    if (file) {
      sf_close(file);
    }
    remove(path);
  }
}

/// The reed that sounds with a tone; -1 for none.
static int
coupled_to(const TakePlan* const plan, const int midi)
{
  const int other = midi + plan->coupled;
  return plan->coupled && other >= COUPLED_LEAST && other <= COUPLED_MOST ? other : -1;
}

static void
add_air(Maker* const m, Random* const random, Tone* const tone, const AirPlan* const plan)
{
  Take* const take = m->take;
  const double start_s = tone->onset_s + plan->after_s;
  Tone* const below = m->plan->octave && tone->midi - 12 >= 43 ? tone + 1 : NULL;
  const double single = below ? hypot(tone->gain, below->gain) : tone->gain;
  const double coupled =
      coupled_to(m->plan, tone->midi) < 0 ? 0.0 : pow(10.0, m->plan->coupled_db / 20.0);
  const double note = single * hypot(1.0, coupled);
  hiss_add(take->samples, take->count, take->rate_hz, start_s, plan->length_s,
           note * pow(10.0, plan->level_db / 20.0), plan->colour, plan->course, random);
  tone->sag = (Sag){start_s, start_s + plan->length_s, plan->dip_db, plan->bend_cents};
  if (below) {
    below->sag = tone->sag;
  }
  // A half sine is over a third of its power from asin(sqrt(1/3)) on; a rise from a half, later
  const double third = asin(sqrt(1.0 / 3.0)) / M_PI;
  const double late = sqrt(1.0 / 3.0) * 2.0 - 1.0;
  const bool swell = plan->course == HISS_SWELL;
  const double begin = swell ? third : plan->course == HISS_RISING ? late : 0.0;
  const double end = swell ? third : plan->course == HISS_FALLING ? late : 0.0;
  take->air = (TruthAir*)realloc(take->air, (take->air_count + 1) * sizeof(TruthAir));
  take->air[take->air_count++] = (TruthAir){.start_s = start_s + begin * plan->length_s,
                                            .end_s = start_s + (1.0 - end) * plan->length_s,
                                            .level_db = plan->level_db,
                                            .midi = tone->midi,
                                            .plan = *plan};
}

/// Take air where the plan says, and where chance does.
static void
take_air(Maker* const m)
{
  Random random = {m->plan->seed * 104729u + 3u};
  const TakePlan* const plan = m->plan;
  for (size_t t = 0; t < m->tone_count; ++t) {
    Tone* const tone = &m->tones[t];
    const double room_s = tone->end_s - tone->onset_s - 0.07;
    if (!tone->main || tone->round >= plan->rounds) {
      continue;
    }
    for (size_t i = 0; i < plan->air_count; ++i) {
      if (plan->air[i].round == tone->round && plan->air[i].note == tone->note) {
        add_air(m, &random, tone, &plan->air[i]);
      }
    }
    if (plan->p_air > 0.0 && room_s > 0.08 && random_unit(&random) < plan->p_air) {
      AirPlan air = {.level_db = random_between(&random, plan->air_least_db, plan->air_most_db),
                     .colour = (HissColour)(random_next(&random) % HISS_COLOURS),
                     .course = (HissCourse)(random_next(&random) % HISS_COURSES)};
      air.length_s = random_between(&random, 0.08, fmin(room_s, plan->air_most_s));
      air.after_s = 0.05 + random_between(&random, 0.0, room_s - air.length_s);
      air.dip_db = random_between(&random, 0.0, plan->air_dip_db);
      air.bend_cents = -2.5 * air.dip_db;
      add_air(m, &random, tone, &air);
    }
  }
}

static void
add_disturbances(Maker* const m)
{
  Random random = {m->plan->seed * 15485863u + 11u};
  double* const turns = (double*)malloc((m->tone_count + 1) * sizeof(double));
  for (size_t t = 0; t < m->tone_count; ++t) {
    turns[t] = m->tones[t].onset_s;
  }
  disturb(m->take->samples, m->take->count, m->take->rate_hz, NOTE_RMS, m->plan->disturbances,
          turns, m->tone_count, &random);
  free(turns);
}

/// Truth of the reference: the mean over the pitches that were played as notes.
static void
find_reference(Maker* const m)
{
  bool heard[128] = {false};
  for (size_t r = 0; r < m->take->round_count; ++r) {
    for (size_t i = 0; i < m->take->note_count; ++i) {
      const TruthNote* const note = &m->take->rounds[r].notes[i];
      if (isfinite(note->onset_s)) {
        heard[note->heard_midi] = true;
      }
    }
  }
  double sum = 0.0;
  double count = 0.0;
  for (int midi = 0; midi < 128; ++midi) {
    sum += heard[midi] ? m->cents[midi] : 0.0;
    count += heard[midi] ? 1.0 : 0.0;
  }
  m->take->reference_hz = m->plan->reference_hz * exp2((count > 0.0 ? sum / count : 0.0) / 1200.0);
}

/// Lay out all rounds in time.
static double
lay_out(Maker* const m)
{
  const TakePlan* const plan = m->plan;
  Take* const take = m->take;
  double now = random_between(&m->random, 0.5, 1.0);
  add_pause(m, 0.0, now - 0.1, false);
  if (plan->false_start) {
    // Two or three notes, then from the beginning
    TruthNote* const unused = (TruthNote*)calloc(take->note_count, sizeof(TruthNote));
    m->round = plan->rounds; // none
    const double end = play_round(m, now, 2 + (size_t)(random_next(&m->random) % 2u), unused);
    take->insertion_count = 0;
    free(unused);
    m->click_count = 0;
    add_pause(m, end + 0.5, end + 1.2, false);
    now = end + 1.3;
    take->false_start_end_s = now - 0.1;
  }
  for (unsigned r = 0; r < plan->rounds; ++r) {
    TruthRound* const round = &take->rounds[take->round_count++];
    round->notes = (TruthNote*)calloc(take->note_count, sizeof(TruthNote));
    const bool breaks_off = plan->stop_early && r + 1 == plan->rounds;
    const size_t stop = breaks_off ? take->note_count / 2 : take->note_count;
    round->start_s = now;
    m->round = r;
    round->end_s = play_round(m, now, stop, round->notes);
    round->complete = !breaks_off;
    now = round->end_s + plan->pause_s;
    if (r + 1 < plan->rounds || plan->speech) {
      const double end = now + (plan->speech ? 3.5 : 0.0);
      add_pause(m, round->end_s + 0.5, end - 0.1, plan->speech);
      now = end;
    }
  }
  return now + 0.5;
}

/// Let a tone sound, and the reed that is coupled to it.
static void
sound_tone(Maker* const m, ReedSource* const source, const Tone* const tone)
{
  const double release_s = random_between(&m->random, 0.006, 0.020);
  const int pitches[] = {tone->midi, coupled_to(m->plan, tone->midi)};
  const double gains[] = {tone->gain, tone->gain * pow(10.0, m->plan->coupled_db / 20.0)};
  for (int i = 0; i < 2 && pitches[i] >= 0; ++i) {
    const double semitones = pitches[i] - 69 + m->cents[pitches[i]] / 100.0;
    reed_source_add(source, m->take->samples, m->take->count, pitches[i],
                    m->plan->reference_hz * exp2(semitones / 12.0), tone->onset_s, tone->end_s,
                    release_s, gains[i], tone->sag.end_s > 0.0 ? &tone->sag : NULL);
  }
}

static Take*
make(const SrPhrase* const phrase, const TakePlan* const plan)
{
  Maker m = {.phrase = phrase,
             .plan = plan,
             .random = {plan->seed * 7919u + 17u},
             .graces = {plan->seed * 6007u + 5u},
             .under = {plan->seed * 6151u + 29u}};
  ReedSource* const source = reed_source_new(plan->kind, plan->seed, plan->attack_ms);
  if (!source) {
    return NULL;
  }
  reed_source_raise_even(source, plan->even_db);
  Take* const take = (Take*)calloc(1, sizeof(Take));
  m.take = take;
  take->rate_hz = SOURCE_RATE_HZ;
  take->note_count = sr_phrase_note_count(phrase);
  take->rounds = (TruthRound*)calloc(plan->rounds, sizeof(TruthRound));
  for (int i = 0; i < 128; ++i) {
    m.cents[i] = plan->detune_cents * random_normal(&m.random);
  }
  take->count = (size_t)(lay_out(&m) * take->rate_hz);
  take->samples = (float*)calloc(take->count, sizeof(float));
  take_air(&m);
  for (size_t t = 0; t < m.tone_count; ++t) {
    sound_tone(&m, source, &m.tones[t]);
  }
  for (size_t i = 0; i < take->under_count; ++i) {
    const TruthUnder* const low = &take->under[i];
    const double frequency =
        plan->reference_hz * exp2((low->midi - 69 + m.cents[low->midi] / 100.0) / 12.0);
    reed_source_add(source, take->samples, take->count, low->midi, frequency, low->onset_s,
                    low->end_s, random_between(&m.under, 0.006, 0.020), low->gain, NULL);
  }
  if (plan->key_clicks) {
    add_key_clicks(&m);
  }
  if (plan->speech) {
    add_speech(&m);
  }
  add_metronome(&m);
  if (plan->disturbances) {
    add_disturbances(&m);
  }
  if (plan->rt60_s > 0.0) {
    room_apply(take->samples, take->count, take->rate_hz, plan->rt60_s, plan->direct_db, &m.random);
  }
  float most = 0.0f;
  for (size_t i = 0; i < take->count; ++i) {
    most = fmaxf(most, fabsf(take->samples[i]));
  }
  const float scale = most > 0.0f ? (float)pow(10.0, plan->peak_dbfs / 20.0) / most : 0.0f;
  for (size_t i = 0; i < take->count; ++i) {
    take->samples[i] *= scale;
  }
  room_noise(take->samples, take->count, take->rate_hz, plan->floor_db, &m.random);
  for (size_t i = 0; i < take->count && plan->peak_dbfs > 0.0; ++i) {
    take->samples[i] = fminf(1.0f, fmaxf(-1.0f, take->samples[i]));
  }
  find_reference(&m);
  reed_source_del(source);
  free(m.tones);
  free(m.clicks);
  return take;
}

Take*
take_make(const SrPhrase* const phrase, const TakePlan* const plan)
{
  Take* const kept = kept_take_read(phrase, plan);
  if (kept) {
    return kept;
  }
  Take* const take = make(phrase, plan);
  if (take) {
    kept_take_write(phrase, plan, take);
  }
  return take;
}
