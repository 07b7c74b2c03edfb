// SPDX-License-Identifier: GPL-3.0-or-later

#include "voice.h"

#include <steadyreed/sound.h>

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Level of a note and of the click, RMS and peak relative to full scale.
#define NOTE_LEVEL 0.09f
#define CLICK_LEVEL 0.12f
#define ACCENT_LEVEL 0.2f
/// Output limit, relative to full scale.
#define MOST_LEVEL 0.5f
/// Maximum share of its note for a cut or strike, and for a group.
#define CUT_SHARE 0.3
#define GROUP_SHARE 0.36
/// The gap between two tones of one pitch, s, and its maximum share of the first.
#define GAP_S 0.02
#define GAP_SHARE 0.2
/// Silence at the end, s.
#define END_S 0.5
/// Decay time constants after which a tone is finished.
#define DEAD 8.0

/// One tone to play.
typedef struct {
  uint64_t start;
  uint64_t end;
  int midi;
  float level;
} Tone;

typedef struct {
  uint64_t start;
  bool accent;
} Click;

struct SrSoundImpl {
  SrSoundSettings settings;
  double tempo_bpm;
  Tone* tones; ///< In order of start
  size_t tone_count;
  size_t tone_size;
  size_t melody; ///< Index of the last tone of the melody; SIZE_MAX before the first
  Click* clicks;
  size_t click_count;
  size_t click_size;
  float* click_sound[2]; ///< Plain and accented
  size_t click_length[2];
  SrVoice* voices[128]; ///< Created when first needed
  uint64_t length;
  uint64_t at;
  size_t first_tone; ///< All tones before it are finished
  size_t first_click;
};

SrSoundSettings
sr_sound_settings_default(void)
{
  const SrSoundSettings settings = {.rate_hz = 44100.0,
                                    .tempo_bpm = (double)NAN,
                                    .reference_hz = 440.0,
                                    .cut_ms = 35.0,
                                    .rounds = 1,
                                    .click = false,
                                    .count_in = false};
  return settings;
}

double
sr_sound_tempo(const SrPhrase* const phrase)
{
  if (sr_phrase_tempo(phrase) > 0.0) {
    return sr_phrase_tempo(phrase);
  }
  const SrFraction pulse = sr_phrase_bar(phrase, 0)->pulse;
  return sr_fraction_value(pulse) > 0.45 ? 80.0 : 90.0;
}

void
sr_sound_del(SrSound* const s)
{
  if (s) {
    for (size_t i = 0; i < 128; ++i) {
      free(s->voices[i]);
    }
    free(s->click_sound[0]);
    free(s->click_sound[1]);
    free(s->tones);
    free(s->clicks);
    free(s);
  }
}

static uint64_t
sample_at(const SrSound* const s, const double seconds)
{
  return (uint64_t)llround(fmax(0.0, seconds) * s->settings.rate_hz);
}

static bool
add_tone(SrSound* const s, const int midi, const double start_s, const double end_s,
         const float level)
{
  if (s->tone_count == s->tone_size) {
    const size_t size = s->tone_size ? 2 * s->tone_size : 256;
    Tone* const more = (Tone*)realloc(s->tones, size * sizeof(Tone));
    if (!more) {
      return false;
    }
    s->tones = more;
    s->tone_size = size;
  }
  if (!s->voices[midi]) {
    s->voices[midi] = (SrVoice*)malloc(sizeof(SrVoice));
    if (!s->voices[midi]) {
      return false;
    }
    sr_voice_make(s->voices[midi], s->settings.reference_hz * exp2((midi - 69) / 12.0),
                  s->settings.rate_hz);
  }
  assert(s->tones);
  s->tones[s->tone_count++] = (Tone){sample_at(s, start_s), sample_at(s, end_s), midi, level};
  return true;
}

static bool
add_click(SrSound* const s, const double start_s, const bool accent)
{
  if (s->click_count == s->click_size) {
    const size_t size = s->click_size ? 2 * s->click_size : 256;
    Click* const more = (Click*)realloc(s->clicks, size * sizeof(Click));
    if (!more) {
      return false;
    }
    s->clicks = more;
    s->click_size = size;
  }
  s->clicks[s->click_count++] = (Click){sample_at(s, start_s), accent};
  return true;
}

/// Add a tone of the melody right after the previous one, with a gap if the pitch is the same.
static bool
add_melody(SrSound* const s, const int midi, const double start_s, const double end_s)
{
  const uint64_t start = sample_at(s, start_s);
  Tone* const before = s->melody < s->tone_count ? &s->tones[s->melody] : NULL;
  if (before && before->midi == midi && before->end + 2 >= start) {
    const double length_s = (double)(start - before->start) / s->settings.rate_hz;
    before->end = start - sample_at(s, fmin(GAP_S, GAP_SHARE * length_s));
  }
  s->melody = s->tone_count;
  return add_tone(s, midi, start_s, end_s, NOTE_LEVEL);
}

/// Add a roll: note, cut, note, strike, note, in thirds. A cut or strike without a grace on its
/// side of the note is left out.
static bool
add_roll(SrSound* const s, const SrPhraseNote* const note, const double start_s, const double end_s)
{
  const double third_s = (end_s - start_s) / 3.0;
  const double grace_s = fmin(1e-3 * s->settings.cut_ms, CUT_SHARE * third_s);
  double from_s = start_s;
  bool enough = true;
  for (int part = 1; enough && part < 3; ++part) {
    int grace = -1;
    for (int i = 0; i < note->ornament_count; ++i) {
      const int midi = note->ornament_midi[i];
      grace = grace < 0 && (part == 1 ? midi > note->midi : midi < note->midi) ? midi : grace;
    }
    if (grace >= 0) {
      const double at_s = start_s + part * third_s;
      enough =
          add_melody(s, note->midi, from_s, at_s) && add_melody(s, grace, at_s, at_s + grace_s);
      from_s = at_s + grace_s;
    }
  }
  return enough && add_melody(s, note->midi, from_s, end_s);
}

static bool
add_note(SrSound* const s, const SrPhrase* const phrase, const size_t index, const double zero_s,
         const double spw)
{
  const SrPhraseNote* const note = sr_phrase_note(phrase, index);
  double start = zero_s + sr_fraction_value(note->start) * spw;
  const double length = sr_fraction_value(note->length) * spw;
  const double end = start + length;
  const bool roll = note->ornament == SR_ORNAMENT_ROLL;
  bool enough = true;
  if (note->cut_midi >= 0) {
    const double cut = fmin(1e-3 * s->settings.cut_ms, CUT_SHARE * length);
    enough = add_melody(s, note->cut_midi, start, start + cut);
    start += cut;
  }
  for (int i = 0; enough && !roll && i < note->ornament_count; ++i) {
    const double each = fmin(SR_GRACE_USUAL_S, GROUP_SHARE * length / note->ornament_count);
    enough = add_melody(s, note->ornament_midi[i], start, start + each);
    start += each;
  }
  enough = enough && (roll ? add_roll(s, note, start, end) : add_melody(s, note->midi, start, end));
  for (int i = 0; enough && i < note->chord_count; ++i) {
    enough = add_tone(s, note->chord_midi[i], start, end, 0.6f * NOTE_LEVEL);
  }
  return enough;
}

/// Number of pulses that begin inside a length, both in whole notes.
static size_t
pulses_in(const double length, const double pulse)
{
  return length > 1e-9 ? (size_t)ceil((length - 1e-9) / pulse) : 0;
}

/// Add clicks on the pulses of one round.
static bool
add_round_clicks(SrSound* const s, const SrPhrase* const phrase, const double zero_s,
                 const double spw)
{
  bool enough = true;
  for (size_t i = 0; enough && i < sr_phrase_bar_count(phrase); ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    const double whole = (double)bar->meter_beats / (double)bar->meter_unit;
    const double length = sr_fraction_value(bar->length);
    const double pulse = sr_fraction_value(bar->pulse);
    // A pickup is at the end of its bar
    const double missing = bar->number == 0 && length < whole ? whole - length : 0.0;
    const size_t pulses = pulses_in(missing + length, pulse);
    for (size_t p = 0; enough && p < pulses; ++p) {
      const double at = (double)p * pulse;
      if (at > missing - 1e-9) {
        const double start = sr_fraction_value(bar->start) + at - missing;
        enough = add_click(s, zero_s + start * spw, p == 0);
      }
    }
  }
  return enough;
}

static int
by_start(const void* const a, const void* const b)
{
  const Tone* const x = (const Tone*)a;
  const Tone* const y = (const Tone*)b;
  if (x->start != y->start) {
    return x->start < y->start ? -1 : 1;
  }
  return (x->midi > y->midi) - (x->midi < y->midi);
}

static bool
schedule(SrSound* const s, const SrPhrase* const phrase)
{
  const SrPhraseBar* const first = sr_phrase_bar(phrase, 0);
  const double pulse = sr_fraction_value(first->pulse);
  const double spw = 60.0 / (s->tempo_bpm * pulse);
  const double whole = (double)first->meter_beats / (double)first->meter_unit;
  double zero_s = 0.0;
  bool enough = true;
  if (s->settings.count_in) {
    const size_t pulses = pulses_in(whole, pulse);
    for (size_t p = 0; enough && p < pulses; ++p) {
      enough = add_click(s, (double)p * pulse * spw, p == 0);
    }
    zero_s = whole * spw;
    if (first->number == 0) {
      // The pickup ends with the count-in bar
      zero_s -= sr_fraction_value(first->length) * spw;
    }
  }
  for (unsigned round = 0; enough && round < s->settings.rounds; ++round) {
    for (size_t i = 0; enough && i < sr_phrase_note_count(phrase); ++i) {
      enough = add_note(s, phrase, i, zero_s, spw);
    }
    if (s->settings.click) {
      enough = enough && add_round_clicks(s, phrase, zero_s, spw);
    }
    zero_s += sr_fraction_value(sr_phrase_length(phrase)) * spw;
    if (round + 1 < s->settings.rounds) {
      zero_s += whole * spw;
    }
  }
  s->length = sample_at(s, zero_s + END_S);
  if (enough && s->tone_count) {
    qsort(s->tones, s->tone_count, sizeof(Tone), by_start);
  }
  return enough;
}

/// Render both sounds of a click at their levels.
static bool
make_clicks(SrSound* const s)
{
  for (size_t accent = 0; accent < 2; ++accent) {
    const size_t count = sr_sound_click(s->settings.rate_hz, accent, NULL, 0);
    s->click_sound[accent] = (float*)malloc(count * sizeof(float));
    if (!s->click_sound[accent]) {
      return false;
    }
    s->click_length[accent] =
        sr_sound_click(s->settings.rate_hz, accent, s->click_sound[accent], count);
    const float scale = (accent ? ACCENT_LEVEL : CLICK_LEVEL) / 0.5f;
    for (size_t i = 0; i < count; ++i) {
      s->click_sound[accent][i] *= scale;
    }
  }
  return true;
}

static bool
within(const double value, const double least, const double most)
{
  return value >= least && value <= most;
}

SrStatus
sr_sound_new(const SrPhrase* const phrase, const SrSoundSettings* const settings,
             SrSound** const sound, SrError* const error)
{
  *sound = NULL;
  const SrSoundSettings used = settings ? *settings : sr_sound_settings_default();
  const double tempo = isnan(used.tempo_bpm) ? sr_sound_tempo(phrase) : used.tempo_bpm;
  if (!within(used.rate_hz, 16000.0, 192000.0)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sample rate must be between 16000 and 192000 Hz.");
  }
  if (!within(tempo, SR_SLOWEST_BPM, SR_FASTEST_BPM)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The tempo must be between %.0f and %.0f pulses a minute.", SR_SLOWEST_BPM,
                        SR_FASTEST_BPM);
  }
  if (!within(used.reference_hz, 300.0, 600.0) || !within(used.cut_ms, 5.0, 200.0) ||
      used.rounds < 1 || used.rounds > 10000) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The reference must be 300 to 600 Hz, a cut 5 to 200 ms, and the rounds 1 "
                        "to 10000.");
  }
  SrSound* const s = (SrSound*)calloc(1, sizeof(SrSound));
  if (s) {
    s->settings = used;
    s->tempo_bpm = tempo;
    s->melody = SIZE_MAX;
  }
  if (!s || !make_clicks(s) || !schedule(s, phrase)) {
    sr_sound_del(s);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to play this.");
  }
  *sound = s;
  return SR_OK;
}

uint64_t
sr_sound_length(const SrSound* const s)
{
  return s->length;
}

static float
sample(SrSound* const s)
{
  const double rate = s->settings.rate_hz;
  float sum = 0.0f;
  bool all_done = true;
  for (size_t i = s->first_tone; i < s->tone_count && s->tones[i].start <= s->at; ++i) {
    const Tone* const tone = &s->tones[i];
    const SrVoice* const voice = s->voices[tone->midi];
    const double left_s = ((double)tone->end - (double)s->at) / rate;
    if (left_s < -DEAD * voice->release_s) {
      if (all_done) {
        s->first_tone = i + 1;
      }
      continue;
    }
    all_done = false;
    const uint64_t age = s->at - tone->start;
    sum += tone->level * sr_voice_sample(voice, (double)age / rate, left_s, age);
  }
  for (size_t i = s->first_click; i < s->click_count && s->clicks[i].start <= s->at; ++i) {
    const size_t accent = s->clicks[i].accent ? 1 : 0;
    const uint64_t age = s->at - s->clicks[i].start;
    if (age < s->click_length[accent]) {
      sum += s->click_sound[accent][age];
    } else if (i == s->first_click) {
      ++s->first_click;
    }
  }
  return fminf(fmaxf(sum, -MOST_LEVEL), MOST_LEVEL);
}

size_t
sr_sound_read(SrSound* const s, float* const samples, const size_t count)
{
  size_t done = 0;
  while (done < count && s->at < s->length) {
    samples[done++] = sample(s);
    ++s->at;
  }
  return done;
}
