// SPDX-License-Identifier: GPL-3.0-or-later

#include "takes_view.h"

#include "../byte_words.h"
#include "round_row.h"
#include "stage.h"
#include "take_judging.h"
#include "take_player.h"
#include "take_row.h"
#include "takes_reading.h"
#include "verdict_view.h"

#include <steadyreed/preferences.h>
#include <steadyreed/show_progress.h>

#include <math.h>

/// The window's size without a parent's.
#define WIDTH 800
#define HEIGHT 640
#define BYTES_PER_GB 1e9
#define NONE G_MAXSIZE

struct _SrTakesView {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  AdwToastOverlay* toasts;
  GtkStack* stack;
  GtkWidget* back;
  GtkLabel* status;
  GtkListBox* phrases;
  GtkWidget* room;
  GtkWidget* rule;
  GtkSpinButton* limit;
  GtkWidget* loss; ///< What a smaller room would cost
  GtkLabel* loss_words;
  SrStage* stage;
  SrRoundRow* rows;
  GtkButton* hear;

  SrKeptTakes* kept; ///< NULL until they were read
  GPtrArray* listed; ///< SrTakeRow
  SrTakePlayer* player;
  size_t playing; ///< Index of the take; NONE for none
  size_t shown;   ///< … whose verdict is
  SrTakeVerdict* verdict;
  gboolean showing; ///< The program changes the limit, not the player
  gboolean judging;
  gboolean closing;
};

G_DEFINE_FINAL_TYPE(SrTakesView, sr_takes_view, ADW_TYPE_WINDOW)

static void
say(SrTakesView* const view, const char* const words)
{
  adw_toast_overlay_add_toast(view->toasts, adw_toast_new(words));
}

/// Close once nothing plays and nothing is judged: a session may begin then.
static bool
close_when_idle(SrTakesView* const view)
{
  const bool idle = !view->judging && !sr_take_player_is_busy(view->player);
  if (view->closing && idle) {
    gtk_window_destroy(GTK_WINDOW(view));
  }
  return view->closing;
}

static void
show_playing(SrTakesView* const view)
{
  const gboolean may = view->playing == NONE;
  for (guint i = 0; i < view->listed->len; ++i) {
    SrTakeRow* const row = SR_TAKE_ROW(g_ptr_array_index(view->listed, i));
    sr_take_row_set_playing(row, sr_take_row_index(row) == view->playing, may);
  }
  gtk_button_set_label(view->hear, may ? "Hear it" : "Stop");
}

static void
hear(SrTakesView* const view, const size_t index)
{
  if (sr_take_player_is_busy(view->player)) {
    sr_take_player_stop(view->player);
    return;
  }
  char* const path = g_build_filename(view->kept->folder, view->kept->takes[index].name, NULL);
  view->playing = index;
  sr_take_player_play(view->player, path);
  g_free(path);
  show_playing(view);
}

static void
take_silence(SrTakesView* const view)
{
  view->playing = NONE;
  if (!close_when_idle(view)) {
    show_playing(view);
  }
}

static void
hear_shown(SrTakesView* const view)
{
  if (view->shown != NONE) {
    hear(view, view->shown);
  }
}

static void
hear_row(SrTakeRow* const row, SrTakesView* const view)
{
  hear(view, sr_take_row_index(row));
}

static void
take_mark(GObject* const object, GAsyncResult* const result, void* const unused)
{
  SrTakesView* const view = SR_TAKES_VIEW(object);
  SrError error = {0};
  (void)unused;
  if (sr_take_marking_finish(result, &error) || view->closing || !view->listed) {
    return;
  }
  say(view, error.message);
  const char* const name = sr_take_marking_name(result);
  for (guint i = 0; i < view->listed->len; ++i) {
    SrTakeRow* const row = SR_TAKE_ROW(g_ptr_array_index(view->listed, i));
    SrTakeEntry* const take = &view->kept->takes[sr_take_row_index(row)];
    if (!g_strcmp0(take->name, name)) {
      take->marked = !take->marked;
      sr_take_row_update(row, view->kept);
    }
  }
}

static void
mark_row(SrTakeRow* const row, const gboolean marked, SrTakesView* const view)
{
  SrTakeEntry* const take = &view->kept->takes[sr_take_row_index(row)];
  take->marked = marked;
  sr_take_row_update(row, view->kept);
  sr_take_marking_begin(G_OBJECT(view), take->name, marked, take_mark);
}

static void
show_list(SrTakesView* const view)
{
  gtk_stack_set_visible_child_name(view->stack, "list");
  gtk_widget_set_visible(view->back, FALSE);
  adw_window_title_set_title(view->title, "Kept takes");
  adw_window_title_set_subtitle(view->title, "");
}

static void
show_round(SrTakesView* const view, const guint index)
{
  SrBarRange about = {0, 0};
  sr_stage_set_state(view->stage, SR_STAGE_VERDICT);
  sr_verdict_view_show(view->stage, (SrHeldRound*)g_ptr_array_index(view->verdict->rounds, index),
                       &about);
  sr_round_row_show(view->rows, view->verdict->rounds, index);
}

static void
choose_round(SrRoundRow* const row, const guint index, SrTakesView* const view)
{
  (void)row;
  show_round(view, index);
}

static void
say_large(SrTakesView* const view, const char* const head, const char* const under)
{
  sr_stage_set_state(view->stage, SR_STAGE_RESTING);
  sr_round_area_show_phrase(sr_stage_whole(view->stage), NULL);
  sr_big_label_set_fault(sr_stage_head(view->stage), FALSE);
  sr_big_label_say(sr_stage_head(view->stage), head);
  sr_big_label_say(sr_stage_under(view->stage), under);
}

static void
take_verdict(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrTakesView* const view = SR_TAKES_VIEW(object);
  SrTakeVerdict* const verdict = sr_take_judging_finish(result);
  view->judging = FALSE;
  g_clear_pointer(&view->verdict, sr_take_verdict_free);
  view->verdict = verdict;
  if (close_when_idle(view)) {
    return;
  }
  if (verdict->rounds->len > 0) {
    show_round(view, 0);
  } else {
    say_large(view, "It cannot be judged now", verdict->error.message);
  }
  gtk_widget_set_visible(GTK_WIDGET(view->rows), verdict->rounds->len > 0);
}

static void
show_take(SrTakeRow* const row, SrTakesView* const view)
{
  const SrTakeEntry* const take = &view->kept->takes[sr_take_row_index(row)];
  const SrHistoryPhrase* const phrase = sr_kept_takes_phrase(view->kept, take);
  if (view->judging || !phrase) {
    return;
  }
  char words[SR_PHRASE_WORDS_SIZE];
  char* const path = g_build_filename(view->kept->folder, take->name, NULL);
  char* const date = sr_take_row_date(take);
  view->shown = sr_take_row_index(row);
  view->judging = TRUE;
  sr_take_judging_begin(G_OBJECT(view), path, phrase, take_verdict);
  gtk_widget_set_visible(GTK_WIDGET(view->rows), FALSE);
  say_large(view, "Judging …", date);
  adw_window_title_set_title(view->title, sr_show_history_phrase(phrase, words));
  adw_window_title_set_subtitle(view->title, date);
  gtk_stack_set_visible_child_name(view->stack, "take");
  gtk_widget_set_visible(view->back, TRUE);
  gtk_widget_grab_focus(GTK_WIDGET(view->hear));
  g_free(date);
  g_free(path);
}

/// The takes of a phrase, the latest first, once they are wanted.
static void
fill(AdwExpanderRow* const group, GParamSpec* const unused, SrTakesView* const view)
{
  (void)unused;
  const SrHistoryPhrase* const phrase =
      (const SrHistoryPhrase*)g_object_get_data(G_OBJECT(group), "phrase");
  if (!phrase || !adw_expander_row_get_expanded(group)) {
    return;
  }
  g_object_set_data(G_OBJECT(group), "phrase", NULL);
  for (size_t i = view->kept->count; i-- > 0;) {
    const SrTakeEntry* const take = &view->kept->takes[i];
    if (take->there && take->phrase == phrase->id) {
      GtkWidget* const row = sr_take_row_new(view->kept, i);
      g_signal_connect(row, "mark", G_CALLBACK(mark_row), view);
      g_signal_connect(row, "hear", G_CALLBACK(hear_row), view);
      g_signal_connect(row, "see", G_CALLBACK(show_take), view);
      adw_expander_row_add_row(group, row);
      g_ptr_array_add(view->listed, row);
    }
  }
  show_playing(view);
}

static size_t
count_takes(const SrKeptTakes* const kept, const SrHistoryPhrase* const phrase)
{
  size_t count = 0;
  for (size_t i = 0; i < kept->count; ++i) {
    count += kept->takes[i].there && kept->takes[i].phrase == phrase->id ? 1 : 0;
  }
  return count;
}

static void
add_phrase(SrTakesView* const view, SrHistoryPhrase* const phrase, const size_t count,
           const bool first)
{
  GtkWidget* const group = adw_expander_row_new();
  char words[SR_PHRASE_WORDS_SIZE];
  adw_preferences_row_set_use_markup(ADW_PREFERENCES_ROW(group), FALSE);
  adw_preferences_row_set_title(ADW_PREFERENCES_ROW(group), sr_show_history_phrase(phrase, words));
  g_snprintf(words, sizeof(words), "%zu take%s", count, count == 1 ? "" : "s");
  adw_expander_row_set_subtitle(ADW_EXPANDER_ROW(group), words);
  gtk_widget_add_css_class(group, "reading-row");
  g_object_set_data(G_OBJECT(group), "phrase", phrase);
  g_signal_connect(group, "notify::expanded", G_CALLBACK(fill), view);
  gtk_list_box_append(view->phrases, group);
  adw_expander_row_set_expanded(ADW_EXPANDER_ROW(group), first);
}

static void
show_room(SrTakesView* const view)
{
  const SrKeptTakes* const kept = view->kept;
  char used[SR_BYTE_WORDS_SIZE];
  char limit[SR_BYTE_WORDS_SIZE];
  char* const words =
      g_strdup_printf("%zu take%s, %s of %s", kept->there, kept->there == 1 ? "" : "s",
                      sr_byte_words(kept->bytes, used), sr_byte_words(kept->limit, limit));
  gtk_label_set_label(view->status, words);
  g_free(words);
}

/// The room in the field, bytes.
static guint64
wished_limit(const SrTakesView* const view)
{
  return (guint64)llround(gtk_spin_button_get_value(view->limit) * BYTES_PER_GB);
}

static void
keep_limit(SrTakesView* const view)
{
  SrError error = {0};
  const guint64 bytes = wished_limit(view);
  gtk_widget_set_visible(view->loss, FALSE);
  if (sr_preferences_keep_takes_limit(bytes, &error) != SR_OK) {
    say(view, error.message);
    return;
  }
  view->kept->limit = bytes;
  show_room(view);
}

/// Say what a room would cost; false if nothing.
static gboolean
show_loss(SrTakesView* const view)
{
  uint64_t bytes = 0;
  char gone[SR_BYTE_WORDS_SIZE];
  const size_t over =
      sr_takes_over(view->kept->takes, view->kept->count, wished_limit(view), &bytes);
  char* const words = g_strdup_printf(
      "For this %zu old take%s, %s, would be removed after the next practice, for good.", over,
      over == 1 ? "" : "s", sr_byte_words(bytes, gone));
  gtk_label_set_label(view->loss_words, words);
  g_free(words);
  gtk_widget_set_visible(view->loss, over > 0);
  return over > 0;
}

static void
change_limit(SrTakesView* const view)
{
  if (!view->kept || view->showing) {
    return;
  }
  // What is only shown, rounded to a tenth or raised to the least of the field, is no wish
  if (llround(gtk_spin_button_get_value(view->limit) * 10.0) ==
      llround(10.0 * (double)view->kept->limit / BYTES_PER_GB)) {
    gtk_widget_set_visible(view->loss, FALSE);
  } else if (!show_loss(view)) {
    keep_limit(view);
  }
}

static void
let_takes_go(SrTakesView* const view)
{
  if (view->kept) {
    keep_limit(view);
  }
}

static void
show_takes(SrTakesView* const view)
{
  SrKeptTakes* const kept = view->kept;
  bool first = true;
  for (size_t i = 0; i < kept->phrase_count; ++i) {
    const size_t count = count_takes(kept, &kept->phrases[i]);
    if (count > 0) {
      add_phrase(view, &kept->phrases[i], count, first);
      first = false;
    }
  }
  show_room(view);
  view->showing = TRUE;
  gtk_spin_button_set_value(view->limit, (double)kept->limit / BYTES_PER_GB);
  view->showing = FALSE;
  gtk_widget_set_visible(view->loss, FALSE);
  gtk_widget_set_visible(GTK_WIDGET(view->phrases), !first);
  gtk_widget_set_visible(view->room, TRUE);
  gtk_widget_set_visible(view->rule, TRUE);
}

static void
take_reading(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrTakesView* const view = SR_TAKES_VIEW(object);
  SrKeptTakes* const kept = sr_takes_reading_finish(result);
  if (!gtk_widget_get_visible(GTK_WIDGET(view))) {
    sr_kept_takes_free(kept); // It was closed meanwhile
    return;
  }
  if (kept->error.status == SR_NOT_FOUND) {
    gtk_label_set_label(view->status, "No takes yet: each sitting with a whole round keeps one.");
  } else if (kept->error.status != SR_OK) {
    gtk_label_set_label(view->status, kept->error.message);
  }
  if (kept->error.status != SR_OK) {
    sr_kept_takes_free(kept);
    return;
  }
  view->kept = kept;
  show_takes(view);
}

static gboolean
close_view(GtkWindow* const window)
{
  SrTakesView* const view = SR_TAKES_VIEW(window);
  if (view->judging || sr_take_player_is_busy(view->player)) {
    view->closing = TRUE;
    sr_take_player_stop(view->player);
    gtk_widget_set_visible(GTK_WIDGET(view), FALSE);
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_takes_view_parent_class)->close_request(window);
}

/// Back to the list, and from there to practising.
static gboolean
leave(GtkWidget* const widget, GVariant* const unused, void* const data)
{
  (void)unused;
  (void)data;
  SrTakesView* const view = SR_TAKES_VIEW(widget);
  if (gtk_widget_get_visible(view->back)) {
    show_list(view);
  } else {
    gtk_window_close(GTK_WINDOW(view));
  }
  return GDK_EVENT_STOP;
}

static void
view_dispose(GObject* const object)
{
  SrTakesView* const view = SR_TAKES_VIEW(object);
  if (view->player) {
    g_signal_handlers_disconnect_by_data(view->player, view);
  }
  g_clear_object(&view->player);
  g_clear_pointer(&view->listed, g_ptr_array_unref);
  G_OBJECT_CLASS(sr_takes_view_parent_class)->dispose(object);
}

static void
view_finalize(GObject* const object)
{
  SrTakesView* const view = SR_TAKES_VIEW(object);
  sr_take_verdict_free(view->verdict);
  sr_kept_takes_free(view->kept);
  G_OBJECT_CLASS(sr_takes_view_parent_class)->finalize(object);
}

static void
sr_takes_view_class_init(SrTakesViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = view_dispose;
  G_OBJECT_CLASS(class)->finalize = view_finalize;
  GTK_WINDOW_CLASS(class)->close_request = close_view;
  g_type_ensure(SR_TYPE_STAGE);
  g_type_ensure(SR_TYPE_ROUND_ROW);
  gtk_widget_class_set_template_from_resource(widget, "/org/steadyreed/Steadyreed/takes_view.ui");
  gtk_widget_class_bind_template_child(widget, SrTakesView, title);
  gtk_widget_class_bind_template_child(widget, SrTakesView, toasts);
  gtk_widget_class_bind_template_child(widget, SrTakesView, stack);
  gtk_widget_class_bind_template_child(widget, SrTakesView, back);
  gtk_widget_class_bind_template_child(widget, SrTakesView, status);
  gtk_widget_class_bind_template_child(widget, SrTakesView, phrases);
  gtk_widget_class_bind_template_child(widget, SrTakesView, room);
  gtk_widget_class_bind_template_child(widget, SrTakesView, rule);
  gtk_widget_class_bind_template_child(widget, SrTakesView, limit);
  gtk_widget_class_bind_template_child(widget, SrTakesView, loss);
  gtk_widget_class_bind_template_child(widget, SrTakesView, loss_words);
  gtk_widget_class_bind_template_child(widget, SrTakesView, stage);
  gtk_widget_class_bind_template_child(widget, SrTakesView, rows);
  gtk_widget_class_bind_template_child(widget, SrTakesView, hear);
  gtk_widget_class_bind_template_callback(widget, show_list);
  gtk_widget_class_bind_template_callback(widget, hear_shown);
  gtk_widget_class_bind_template_callback(widget, change_limit);
  gtk_widget_class_bind_template_callback(widget, let_takes_go);
  gtk_widget_class_add_binding(widget, GDK_KEY_Escape, 0, leave, NULL);
}

static void
sr_takes_view_init(SrTakesView* const view)
{
  view->playing = NONE;
  view->shown = NONE;
  view->listed = g_ptr_array_new();
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  gtk_widget_add_css_class(GTK_WIDGET(sr_stage_under(view->stage)), "soft");
  g_signal_connect(view->rows, "chosen", G_CALLBACK(choose_round), view);
}

GtkWidget*
sr_takes_view_new(GtkWindow* const parent, const SrStreamSettings* const stream)
{
  SrTakesView* const view =
      SR_TAKES_VIEW(g_object_new(SR_TYPE_TAKES_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  const int width = gtk_widget_get_width(GTK_WIDGET(parent));
  const int height = gtk_widget_get_height(GTK_WIDGET(parent));
  gtk_window_set_default_size(GTK_WINDOW(view), width > 0 ? width : WIDTH,
                              height > 0 ? height : HEIGHT);
  view->player = sr_take_player_new(stream->output);
  g_signal_connect_swapped(view->player, "over", G_CALLBACK(take_silence), view);
  g_signal_connect_swapped(view->player, "said", G_CALLBACK(say), view);
  sr_takes_reading_begin(G_OBJECT(view), take_reading);
  return GTK_WIDGET(view);
}
