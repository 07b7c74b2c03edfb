// SPDX-License-Identifier: GPL-3.0-or-later

#include "verdict_view.h"

#include <steadyreed/large_words.h>

#include <ctype.h>
#include <math.h>
#include <string.h>

SrBarRange
sr_bars_about(const SrPhrase* const phrase, const size_t note)
{
  if (note >= sr_phrase_note_count(phrase)) {
    return (SrBarRange){0, 0};
  }
  const double start = sr_fraction_value(sr_phrase_note(phrase, note)->start);
  size_t bar = 0;
  while (bar + 1 < sr_phrase_bar_count(phrase) &&
         sr_fraction_value(sr_phrase_bar(phrase, bar + 1)->start) <= start + 1e-9) {
    ++bar;
  }
  const bool is_first =
      note > 0 && sr_phrase_note(phrase, note - 1)->bar != sr_phrase_note(phrase, note)->bar;
  return is_first && bar > 0 ? (SrBarRange){bar - 1, 2} : (SrBarRange){bar, 1};
}

static void
clear(GtkBox* const box)
{
  for (GtkWidget* child = NULL; (child = gtk_widget_get_first_child(GTK_WIDGET(box)));) {
    gtk_box_remove(box, child);
  }
}

static GtkWidget*
add_words(GtkBox* const box, const char* const words, const char* const class)
{
  GtkWidget* const label = gtk_label_new(words);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
  gtk_widget_add_css_class(label, class);
  gtk_box_append(box, label);
  return label;
}

static void
show_figures(GtkBox* const box, const SrHeldRound* const held)
{
  SrLargeFigure figures[SR_LARGE_FIGURES];
  const size_t count = sr_large_figures(held->round, held->assessment->air_carriage, figures);
  for (size_t i = 0; i < count; ++i) {
    GtkBox* const line = GTK_BOX(gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 10));
    (void)add_words(line, figures[i].name, "figure-name");
    GtkWidget* const words = add_words(line, figures[i].words, "figure");
    gtk_box_append(box, GTK_WIDGET(line));
    if (!figures[i].good) {
      gtk_widget_add_css_class(words, "fault");
    }
  }
}

/// What else there is to say, after the first line of advice.
static void
show_more(GtkBox* const box, const SrHeldRound* const held)
{
  for (size_t i = 1; i < held->round->advice_count; ++i) {
    char* const words = g_strdup(held->round->advice[i]);
    words[0] = (char)toupper((unsigned char)words[0]);
    (void)add_words(box, words, "more");
    g_free(words);
  }
  if (held->click_unknown) {
    (void)add_words(box,
                    "Ahead of the click or behind it? The microphone does not hear it, so that is "
                    "not known. Set up the microphone once with your headphones.",
                    "more");
  }
  const char* const air = sr_judge_air_unreported(held->assessment->air_carriage);
  if (air) {
    (void)add_words(box, air, "more");
  }
}

/// Figures and more, once for each round: a screen reader, and who scrolls in it, keeps the place.
static void
show_rest(GtkBox* const box, SrHeldRound* const held)
{
  static const char key[] = "round";
  if (g_object_get_data(G_OBJECT(box), key) == held) {
    return;
  }
  clear(box);
  show_figures(box, held);
  show_more(box, held);
  g_object_set_data_full(G_OBJECT(box), key, sr_held_round_ref(held),
                         (GDestroyNotify)sr_held_round_unref);
}

/// Whether a verdict on a note can only be about when it came; then its offset is shown.
static bool
is_about_beat(const SrRound* const round, const size_t index)
{
  const SrNoteVerdict* const note = &round->notes[index];
  const bool cut = note->has_cut && note->cut.verdict != SR_CUT_CLEAN;
  return note->status == SR_NOTE_PLAYED && !cut && note->joined != SR_YES &&
         isfinite(note->offset_ms);
}

void
sr_verdict_view_show(SrStage* const stage, SrHeldRound* const held, SrBarRange* const about)
{
  SrChosen* const chosen = held->chosen;
  SrLargeVerdict verdict;
  sr_large_verdict(held->round, 0, &verdict);
  sr_big_label_set_fault(sr_stage_head(stage), FALSE);
  sr_big_label_say(sr_stage_head(stage), verdict.head);
  sr_big_label_say(sr_stage_under(stage), verdict.body);
  *about = sr_bars_about(chosen->phrase, verdict.note);
  const bool whole = about->count == 0 || about->count == sr_phrase_bar_count(chosen->phrase);
  sr_stage_let_part(stage, !whole);
  if (!whole) {
    char label[64];
    sr_round_area_set_style(sr_stage_part(stage), TRUE, is_about_beat(held->round, verdict.note));
    sr_round_area_show_round(sr_stage_part(stage), chosen, held, about->first, about->count);
    g_snprintf(label, sizeof(label), "Bar %d, large",
               sr_phrase_bar(chosen->phrase, about->first + about->count - 1)->number);
    gtk_accessible_update_property(GTK_ACCESSIBLE(sr_stage_part(stage)),
                                   GTK_ACCESSIBLE_PROPERTY_LABEL, label, -1);
  }
  sr_round_area_mark(sr_stage_whole(stage), (double)NAN);
  sr_round_area_show_round(sr_stage_whole(stage), chosen, held, 0, 0);
  show_rest(sr_stage_rest(stage), held);
}
