// SPDX-License-Identifier: GPL-3.0-or-later

#include "written_box.h"

#include "flow_cells.h"
#include "round_area.h"
#include "score_words.h"

#include <adwaita.h>
#include <math.h>

/// A tempo that can be asked for, pulses a minute.
#define LEAST_BPM 20.0
#define MOST_BPM 300.0

/// Most tempi that are offered: as guessed, half and twice as fast.
#define TEMPI 3u
/// The first of them.
#define AS_GUESSED 0u
/// Most notes with which the first bar may begin, as it is offered.
#define FIRST_NOTES 5

/// Readings of octaves that are offered, after the guess.
enum { SINGLE = 1, DOUBLED };

struct _SrWrittenBox {
  GtkBox parent_instance;
  SrRoundArea* picture;
  GtkLabel* what;
  GtkFlowBox* hearing;
  GtkButton* hear_written;
  GtkButton* hear_both;
  AdwComboRow* key;
  AdwComboRow* meter;
  AdwComboRow* tempo;
  AdwComboRow* first_bar;
  AdwComboRow* octaves;
  AdwEntryRow* title;
  GtkFlowBox* keeping;
  GtkWidget* practise;
  GtkWidget* save;
  char* key_guess; ///< First entries of the lists
  char* meter_guess;
  double guessed_bpm;        ///< NAN before the first guess
  double offered_bpm[TEMPI]; ///< In the list; NAN for the guess, and after the last
  double sure_tempo;
  char* first_bar_guess;
  double upbeats[FIRST_NOTES]; ///< Quavers before each of the first notes
  guint upbeat_count;
  const char* octaves_guess;
  gboolean showing; ///< The program changes it, not the player
};

G_DEFINE_FINAL_TYPE(SrWrittenBox, sr_written_box, GTK_TYPE_BOX)

enum { CORRECTED, PRACTISE_ASKED, SAVE_ASKED, HEAR_ASKED, SIGNALS };
static guint signals[SIGNALS];

static void
ask_practise(SrWrittenBox* const box)
{
  g_signal_emit(box, signals[PRACTISE_ASKED], 0);
}

static void
ask_save(SrWrittenBox* const box)
{
  g_signal_emit(box, signals[SAVE_ASKED], 0);
}

static void
ask_written(SrWrittenBox* const box)
{
  g_signal_emit(box, signals[HEAR_ASKED], 0, FALSE);
}

static void
ask_both(SrWrittenBox* const box)
{
  g_signal_emit(box, signals[HEAR_ASKED], 0, TRUE);
}

static void
tell(SrWrittenBox* const box)
{
  if (!box->showing) {
    g_signal_emit(box, signals[CORRECTED], 0);
  }
}

static void
key_chosen(SrWrittenBox* const box)
{
  tell(box);
}

/// Guess a row again, since what it depends on was chosen by the player.
static void
guess_again(SrWrittenBox* const box, AdwComboRow* const row)
{
  if (!box->showing) {
    box->showing = TRUE;
    adw_combo_row_set_selected(row, AS_GUESSED);
    box->showing = FALSE;
  }
}

static void
meter_chosen(SrWrittenBox* const box)
{
  // A pulse is something else in another meter
  guess_again(box, box->tempo);
  guess_again(box, box->first_bar);
  tell(box);
}

static void
tempo_chosen(SrWrittenBox* const box)
{
  // At another tempo an upbeat has another number of quavers
  guess_again(box, box->first_bar);
  tell(box);
}

static void
first_bar_chosen(SrWrittenBox* const box)
{
  tell(box);
}

static void
octaves_chosen(SrWrittenBox* const box)
{
  tell(box);
}

static void
set_guess(char** const guess, char* const words)
{
  g_free(*guess);
  *guess = words;
}

/// Fill a list, and leave what is selected in it.
static void
fill(SrWrittenBox* const box, AdwComboRow* const row, GStrvBuilder* const names)
{
  char** const strings = g_strv_builder_end(names);
  GtkStringList* const list = gtk_string_list_new((const char* const*)strings);
  const guint selected = adw_combo_row_get_selected(row);
  box->showing = TRUE;
  adw_combo_row_set_model(row, G_LIST_MODEL(list));
  adw_combo_row_set_selected(row, selected == GTK_INVALID_LIST_POSITION ? 0 : selected);
  box->showing = FALSE;
  g_object_unref(list);
  g_strfreev(strings);
  g_strv_builder_unref(names);
}

static void
fill_keys(SrWrittenBox* const box)
{
  GStrvBuilder* const names = g_strv_builder_new();
  g_strv_builder_add(names, box->key_guess);
  for (size_t i = 0; i < sr_key_choices(); ++i) {
    g_strv_builder_add(names, sr_key_words(sr_key_choice(i)));
  }
  fill(box, box->key, names);
}

static void
fill_meters(SrWrittenBox* const box)
{
  GStrvBuilder* const names = g_strv_builder_new();
  g_strv_builder_add(names, box->meter_guess);
  for (size_t i = 0; i < sr_meter_choices(); ++i) {
    int beats = 0;
    int unit = 0;
    g_strv_builder_add(names, sr_meter_choice(i, &beats, &unit));
  }
  fill(box, box->meter, names);
}

static void
fill_tempi(SrWrittenBox* const box)
{
  static const struct {
    double factor;
    const char* words;
  } others[] = {{0.5, "half as fast"}, {2.0, "twice as fast"}};
  GStrvBuilder* const names = g_strv_builder_new();
  char words[64] = "Guess";
  if (isfinite(box->guessed_bpm)) {
    g_snprintf(words, sizeof(words), "%.0f (%s)", box->guessed_bpm, sr_sure_words(box->sure_tempo));
  }
  g_strv_builder_add(names, words);
  guint count = 1;
  box->offered_bpm[0] = box->offered_bpm[1] = box->offered_bpm[2] = (double)NAN;
  for (size_t i = 0; i < sizeof(others) / sizeof(others[0]); ++i) {
    const double bpm = others[i].factor * box->guessed_bpm;
    // Only what can be asked for
    if (bpm >= LEAST_BPM && bpm <= MOST_BPM) {
      g_snprintf(words, sizeof(words), "%.0f: %s", bpm, others[i].words);
      g_strv_builder_add(names, words);
      box->offered_bpm[count++] = bpm;
    }
  }
  fill(box, box->tempo, names);
}

static void
fill_first_bar(SrWrittenBox* const box)
{
  GStrvBuilder* const names = g_strv_builder_new();
  g_strv_builder_add(names, box->first_bar_guess);
  for (guint i = 0; i < box->upbeat_count; ++i) {
    char words[32];
    g_snprintf(words, sizeof(words), "Note %u", i + 1);
    g_strv_builder_add(names, words);
  }
  fill(box, box->first_bar, names);
}

/// Note how long an upbeat is if the first bar begins with each of the first notes, and which of
/// them it is now.
static void
guess_first_bar(SrWrittenBox* const box, const SrScore* const score)
{
  char* where = NULL;
  box->upbeat_count = 0;
  for (size_t i = 0; i < score->count && i < FIRST_NOTES; ++i) {
    const long before = score->notes[i].start - score->notes[0].start;
    // An upbeat has whole and half quavers
    if (before % (SR_SCORE_PLACES / 2) || (double)before > SR_MOST_UPBEAT * SR_SCORE_PLACES) {
      break;
    }
    box->upbeats[box->upbeat_count++] = (double)before / SR_SCORE_PLACES;
    if (before == score->upbeat) {
      g_free(where);
      where = g_strdup_printf("Note %zu (%s)", i + 1, sr_sure_words(score->sure_upbeat));
    }
  }
  if (!where) {
    where = g_strdup_printf("After %g quavers (%s)", (double)score->upbeat / SR_SCORE_PLACES,
                            sr_sure_words(score->sure_upbeat));
  }
  set_guess(&box->first_bar_guess, where);
  fill_first_bar(box);
}

static void
fill_octaves(SrWrittenBox* const box)
{
  GStrvBuilder* const names = g_strv_builder_new();
  g_strv_builder_add(names, box->octaves_guess);
  g_strv_builder_add(names, "Single notes");
  g_strv_builder_add(names, "In octaves: write the upper notes");
  fill(box, box->octaves, names);
}

void
sr_written_box_reset(SrWrittenBox* const box, const char* const title)
{
  set_guess(&box->key_guess, g_strdup("Guess"));
  set_guess(&box->meter_guess, g_strdup("Guess"));
  set_guess(&box->first_bar_guess, g_strdup("Guess"));
  box->upbeat_count = 0;
  box->guessed_bpm = (double)NAN;
  box->octaves_guess = "Guess";
  box->showing = TRUE;
  adw_combo_row_set_selected(box->key, 0);
  adw_combo_row_set_selected(box->meter, 0);
  adw_combo_row_set_selected(box->tempo, 0);
  adw_combo_row_set_selected(box->first_bar, 0);
  adw_combo_row_set_selected(box->octaves, 0);
  gtk_editable_set_text(GTK_EDITABLE(box->title), title);
  box->showing = FALSE;
  fill_keys(box);
  fill_meters(box);
  fill_tempi(box);
  fill_first_bar(box);
  fill_octaves(box);
  sr_round_area_show_phrase(box->picture, NULL);
}

void
sr_written_box_show(SrWrittenBox* const box, const SrStretchWriting* const writing)
{
  const SrScore* const score = &writing->score;
  char* const bars = sr_chosen_bars(writing->chosen);
  char* const name =
      g_strdup_printf("%s, %s", writing->chosen->plan ? "Bellows line" : "Line of pitches", bars);
  char* const words = sr_score_words(score);
  if (!writing->wish.key) {
    set_guess(&box->key_guess,
              g_strdup_printf("%s (%s)", sr_key_words(score->key), sr_sure_words(score->sure_key)));
    fill_keys(box);
  }
  if (!writing->wish.meter_beats) {
    set_guess(&box->meter_guess,
              g_strdup_printf("%d/%d (%s)", score->meter_beats, score->meter_unit,
                              sr_sure_words(score->sure_meter)));
    fill_meters(box);
  }
  if (!isfinite(writing->wish.tempo_bpm)) {
    box->guessed_bpm = score->tempo_bpm;
    box->sure_tempo = score->clicked ? 1.0 : score->sure_tempo;
    fill_tempi(box);
  }
  if (!isfinite(writing->wish.upbeat_quavers)) {
    guess_first_bar(box, score);
  }
  if (writing->wish.octaves == SR_OCTAVES_GUESS) {
    box->octaves_guess = score->doubled ? "In octaves (likely)" : "Single notes (likely)";
    fill_octaves(box);
  }
  gtk_label_set_label(box->what, words);
  sr_round_area_show_phrase(box->picture, writing->chosen);
  gtk_accessible_update_property(GTK_ACCESSIBLE(box->picture), GTK_ACCESSIBLE_PROPERTY_LABEL, name,
                                 -1);
  g_free(words);
  g_free(name);
  g_free(bars);
}

void
sr_written_box_wish(SrWrittenBox* const box, SrStretchWish* const wish)
{
  const guint key = adw_combo_row_get_selected(box->key);
  const guint meter = adw_combo_row_get_selected(box->meter);
  const guint tempo = adw_combo_row_get_selected(box->tempo);
  wish->key = key > 0 && key <= sr_key_choices() ? g_strdup(sr_key_choice(key - 1)) : NULL;
  wish->meter_beats = wish->meter_unit = 0;
  if (meter > 0 && meter <= sr_meter_choices()) {
    (void)sr_meter_choice(meter - 1, &wish->meter_beats, &wish->meter_unit);
  }
  wish->tempo_bpm = tempo < TEMPI ? box->offered_bpm[tempo] : (double)NAN;
  const guint first_bar = adw_combo_row_get_selected(box->first_bar);
  wish->upbeat_quavers =
      first_bar > 0 && first_bar <= box->upbeat_count ? box->upbeats[first_bar - 1] : (double)NAN;
  const guint octaves = adw_combo_row_get_selected(box->octaves);
  wish->octaves = octaves == SINGLE    ? SR_OCTAVES_SINGLE
                  : octaves == DOUBLED ? SR_OCTAVES_DOUBLED
                                       : SR_OCTAVES_GUESS;
}

const char*
sr_written_box_title(SrWrittenBox* const box)
{
  return gtk_editable_get_text(GTK_EDITABLE(box->title));
}

void
sr_written_box_line(SrWrittenBox* const box, const double at)
{
  sr_round_area_mark(box->picture, at);
}

void
sr_written_box_set_playing(SrWrittenBox* const box, const gboolean written, const gboolean both)
{
  gtk_button_set_label(box->hear_written, written ? "Stop" : "Hear what was written");
  gtk_button_set_label(box->hear_both, both ? "Stop" : "Hear both in turn");
}

void
sr_written_box_set_busy(SrWrittenBox* const box, const gboolean busy)
{
  gtk_widget_set_sensitive(GTK_WIDGET(box->hearing), !busy);
  gtk_widget_set_sensitive(GTK_WIDGET(box->keeping), !busy);
}

void
sr_written_box_focus(SrWrittenBox* const box)
{
  gtk_widget_grab_focus(GTK_WIDGET(box->hear_both));
}

static void
box_finalize(GObject* const object)
{
  g_free(SR_WRITTEN_BOX(object)->key_guess);
  g_free(SR_WRITTEN_BOX(object)->meter_guess);
  g_free(SR_WRITTEN_BOX(object)->first_bar_guess);
  G_OBJECT_CLASS(sr_written_box_parent_class)->finalize(object);
}

static void
bind_children(GtkWidgetClass* const widget)
{
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, picture);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, what);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, hearing);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, hear_written);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, hear_both);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, key);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, meter);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, tempo);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, first_bar);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, octaves);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, title);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, keeping);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, practise);
  gtk_widget_class_bind_template_child(widget, SrWrittenBox, save);
}

static void
sr_written_box_class_init(SrWrittenBoxClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->finalize = box_finalize;
  g_type_ensure(SR_TYPE_ROUND_AREA);
  signals[CORRECTED] = g_signal_new("corrected", SR_TYPE_WRITTEN_BOX, G_SIGNAL_RUN_LAST, 0, NULL,
                                    NULL, NULL, G_TYPE_NONE, 0);
  signals[PRACTISE_ASKED] = g_signal_new("practise-asked", SR_TYPE_WRITTEN_BOX, G_SIGNAL_RUN_LAST,
                                         0, NULL, NULL, NULL, G_TYPE_NONE, 0);
  signals[SAVE_ASKED] = g_signal_new("save-asked", SR_TYPE_WRITTEN_BOX, G_SIGNAL_RUN_LAST, 0, NULL,
                                     NULL, NULL, G_TYPE_NONE, 0);
  signals[HEAR_ASKED] = g_signal_new("hear-asked", SR_TYPE_WRITTEN_BOX, G_SIGNAL_RUN_LAST, 0, NULL,
                                     NULL, NULL, G_TYPE_NONE, 1, G_TYPE_BOOLEAN);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/written_box.ui");
  bind_children(widget);
  gtk_widget_class_bind_template_callback(widget, ask_practise);
  gtk_widget_class_bind_template_callback(widget, ask_save);
  gtk_widget_class_bind_template_callback(widget, ask_written);
  gtk_widget_class_bind_template_callback(widget, ask_both);
  gtk_widget_class_bind_template_callback(widget, key_chosen);
  gtk_widget_class_bind_template_callback(widget, meter_chosen);
  gtk_widget_class_bind_template_callback(widget, tempo_chosen);
  gtk_widget_class_bind_template_callback(widget, first_bar_chosen);
  gtk_widget_class_bind_template_callback(widget, octaves_chosen);
}

static void
sr_written_box_init(SrWrittenBox* const box)
{
  gtk_widget_init_template(GTK_WIDGET(box));
  sr_flow_cells_pass_focus(box->hearing);
  sr_flow_cells_pass_focus(box->keeping);
  sr_round_area_set_style(box->picture, FALSE, FALSE);
  sr_written_box_reset(box, "");
}
