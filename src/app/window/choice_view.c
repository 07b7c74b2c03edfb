// SPDX-License-Identifier: GPL-3.0-or-later

#include "choice_view.h"

#include "round_area.h"

#include <steadyreed/sound.h>

/// Whole bars that are drawn: of more, the notes would be too small to be read.
#define MOST_BARS 8u

struct _SrChoiceView {
  GtkBox parent_instance;
  GtkStack* stack;
  SrRoundArea* picture;
  GtkLabel* trouble;
  GtkLabel* what;
  GtkLabel* remarks;
};

G_DEFINE_FINAL_TYPE(SrChoiceView, sr_choice_view, GTK_TYPE_BOX)

/// Length of a phrase at its own tempo, s.
static double
seconds_of(const SrPhrase* const phrase)
{
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  return sr_fraction_value(sr_phrase_length(phrase)) / pulse * 60.0 / sr_sound_tempo(phrase);
}

static size_t
drawn_bars(const SrPhrase* const phrase)
{
  const size_t pickup = sr_phrase_bar(phrase, 0)->number == 0 ? 1 : 0;
  return MIN(sr_phrase_bar_count(phrase), MOST_BARS + pickup);
}

static void
show_picture(SrChoiceView* const view, SrChosen* const chosen, const char* const bars)
{
  const size_t count = sr_phrase_note_count(chosen->phrase);
  SrNoteVerdict* const notes = g_new0(SrNoteVerdict, count);
  sr_round_area_show_notes(view->picture, chosen, notes, 0, 0, drawn_bars(chosen->phrase));
  g_free(notes);
  char* const name =
      g_strdup_printf("%s, %s", chosen->plan ? "Bellows line" : "Line of pitches", bars);
  gtk_accessible_update_property(GTK_ACCESSIBLE(view->picture), GTK_ACCESSIBLE_PROPERTY_LABEL, name,
                                 -1);
  g_free(name);
}

void
sr_choice_view_show(SrChoiceView* const view, SrChosen* const chosen)
{
  const SrPhrase* const phrase = chosen->phrase;
  char* const bars = sr_chosen_bars(chosen);
  GString* const what = g_string_new(bars);
  GString* const remarks = g_string_new("");
  what->str[0] = g_ascii_toupper(what->str[0]);
  g_string_append_printf(what, " · %zu notes · %.0f s at its own tempo",
                         sr_phrase_note_count(phrase), seconds_of(phrase));
  if (sr_phrase_bar_count(phrase) > drawn_bars(phrase)) {
    g_string_append(what, " · its beginning is shown");
  }
  if (!chosen->choice.unplanned && !chosen->plan) {
    g_string_append_printf(remarks, "No buttons are shown: %s", chosen->plan_error.message);
  }
  for (size_t i = 0; i < sr_phrase_remark_count(phrase); ++i) {
    g_string_append_printf(remarks, "%s%s", remarks->len ? "\n" : "", sr_phrase_remark(phrase, i));
  }
  show_picture(view, chosen, bars);
  gtk_label_set_label(view->what, what->str);
  gtk_label_set_label(view->remarks, remarks->str);
  gtk_widget_set_visible(GTK_WIDGET(view->what), TRUE);
  gtk_widget_set_visible(GTK_WIDGET(view->remarks), remarks->len > 0);
  gtk_stack_set_visible_child_name(view->stack, "picture");
  gtk_label_set_label(view->trouble, "");
  g_string_free(what, TRUE);
  g_string_free(remarks, TRUE);
  g_free(bars);
}

void
sr_choice_view_say(SrChoiceView* const view, const SrError* const error)
{
  GString* const words = g_string_new(error->message);
  if (error->file[0]) {
    char* const file = g_filename_display_basename(error->file);
    g_string_append_printf(words, "\n%s", file);
    g_free(file);
  }
  if (error->line > 0) {
    g_string_append_printf(words, "%sline %u", error->file[0] ? ", " : "\n", error->line);
  }
  if (error->column > 0) {
    g_string_append_printf(words, ", character %u", error->column);
  }
  gtk_label_set_label(view->trouble, words->str);
  gtk_stack_set_visible_child_name(view->stack, "trouble");
  gtk_widget_set_visible(GTK_WIDGET(view->what), FALSE);
  gtk_widget_set_visible(GTK_WIDGET(view->remarks), FALSE);
  sr_round_area_show_phrase(view->picture, NULL);
  g_string_free(words, TRUE);
}

static void
sr_choice_view_class_init(SrChoiceViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  g_type_ensure(SR_TYPE_ROUND_AREA);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/choice_view.ui");
  gtk_widget_class_bind_template_child(widget, SrChoiceView, stack);
  gtk_widget_class_bind_template_child(widget, SrChoiceView, picture);
  gtk_widget_class_bind_template_child(widget, SrChoiceView, trouble);
  gtk_widget_class_bind_template_child(widget, SrChoiceView, what);
  gtk_widget_class_bind_template_child(widget, SrChoiceView, remarks);
}

static void
sr_choice_view_init(SrChoiceView* const view)
{
  gtk_widget_init_template(GTK_WIDGET(view));
  sr_round_area_set_style(view->picture, FALSE, FALSE);
}
