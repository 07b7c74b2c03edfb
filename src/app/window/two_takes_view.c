// SPDX-License-Identifier: GPL-3.0-or-later

#include "two_takes_view.h"

#include "flow_cells.h"
#include "night.h"
#include "two_takes_grids.h"
#include "two_takes_hearing.h"

#include <steadyreed/show_two_takes.h>
#include <steadyreed/slow.h>
#include <steadyreed/two_rounds.h>

#include <math.h>

/// The window's size without a parent's.
#define WIDTH 900
#define HEIGHT 720
/// Largest letters of the picture, and of a narrow one.
#define LETTERS 20.0
/// Narrower than this, the words of two takes stand one under the other.
#define NARROW 560
/// How dark the band over a chosen bar is.
#define BAND 0.12

struct _SrTwoTakesView {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  GtkDropDown* first;
  GtkDropDown* second;
  GtkLabel* sentence;
  GtkDrawingArea* picture;
  GtkGrid* figures;
  GtkLabel* test;
  GtkGrid* bars;
  GtkLabel* trouble;
  GtkDropDown* bar;
  GtkButton* hear_first;
  GtkButton* hear_second;
  GtkButton* hear_both;
  GtkCheckButton* same_tempo;
  GtkFlowBox* choosing;
  GtkFlowBox* hearing;

  SrSitting* sitting;
  GPtrArray* offered; ///< SrComparedTake
  GtkStringList* names;
  SrComparedTake* takes[2]; ///< Those shown; NULL before
  SrTwoTakes two;
  SrTwoRounds* rounds; ///< Laid out for the width; NULL before
  gboolean setting;    ///< The drop-downs are being changed by us
  gboolean narrow;
  int width;          ///< That the picture is laid out for
  guint later;        ///< Source that lays it out for another
  GCancellable* stop; ///< Of what plays; NULL if nothing does
  gboolean closing;   ///< Once nothing does
};

G_DEFINE_FINAL_TYPE(SrTwoTakesView, sr_two_takes_view, ADW_TYPE_WINDOW)

static SrShownTwo
shown_of(const SrTwoTakesView* const view)
{
  SrShownTwo shown = {.two = &view->two};
  for (size_t t = 0; t < 2; ++t) {
    shown.phrases[t] = view->takes[t]->held->chosen->phrase;
    shown.names[t] = view->takes[t]->name;
    shown.played[t] = sr_compared_take_rounds(view->takes[t]);
  }
  return shown;
}

static void
say_trouble(SrTwoTakesView* const view, const char* const words)
{
  gtk_label_set_label(view->trouble, words ? words : "");
  gtk_widget_set_visible(GTK_WIDGET(view->trouble), words != NULL);
}

// The picture ------------------------------------------------------------------------------------

static void
lay_out_picture(SrTwoTakesView* const view)
{
  const int width = gtk_widget_get_width(GTK_WIDGET(view->picture));
  g_clear_pointer(&view->rounds, sr_two_rounds_del);
  if (!view->takes[0] || width < (int)SR_ROUND_LEAST_WIDTH) {
    return;
  }
  const SrRoundStyle style = {.dark = adw_style_manager_get_dark(adw_style_manager_get_default()),
                              .most_size = LETTERS};
  SrPicturedRound pictured[2];
  const bool planned = view->takes[0]->held->chosen->plan && view->takes[1]->held->chosen->plan;
  for (size_t t = 0; t < 2; ++t) {
    const SrChosen* const chosen = view->takes[t]->held->chosen;
    pictured[t] = (SrPicturedRound){.phrase = chosen->phrase,
                                    .round = view->takes[t]->held->round,
                                    .reached = SR_REACHED_ALL,
                                    .plan = planned ? chosen->plan : NULL,
                                    .instrument = planned ? sr_chosen_instrument(chosen) : NULL};
  }
  SrError error = {0};
  if (sr_two_rounds_new(pictured, &style, width, (double)INFINITY, &view->rounds, &error) !=
      SR_OK) {
    say_trouble(view, error.message);
    return;
  }
  gtk_drawing_area_set_content_height(view->picture, (int)ceil(sr_two_rounds_height(view->rounds)));
  gtk_widget_queue_draw(GTK_WIDGET(view->picture));
}

/// The bar that is chosen, an index of sr_phrase_bar(); their number for all.
static size_t
chosen_bar(const SrTwoTakesView* const view)
{
  const guint selected = gtk_drop_down_get_selected(view->bar);
  return selected == 0 || selected == GTK_INVALID_LIST_POSITION
             ? sr_phrase_bar_count(view->takes[0]->held->chosen->phrase)
             : selected - 1;
}

static void
draw_picture(GtkDrawingArea* const area, cairo_t* const cairo, const int width, const int height,
             void* const data)
{
  (void)area;
  (void)width;
  (void)height;
  const SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(data);
  if (!view->rounds) {
    return;
  }
  for (size_t t = 0; t < 2; ++t) {
    SrRoundBox box;
    if (sr_two_rounds_bar(view->rounds, t, chosen_bar(view), &box)) {
      cairo_set_source_rgba(cairo, 0.0, 0.447, 0.698, 2.0 * BAND);
      cairo_rectangle(cairo, box.left, box.top, box.width, box.height);
      cairo_fill(cairo);
    }
  }
  (void)sr_two_rounds_draw(view->rounds, cairo, 0.0, 0.0);
}

static void
press_picture(GtkGestureClick* const gesture, const int presses, const double x, const double y,
              SrTwoTakesView* const view)
{
  (void)gesture;
  (void)presses;
  if (view->rounds) {
    gtk_drop_down_set_selected(view->bar, (guint)sr_two_rounds_bar_at(view->rounds, x, y) + 1);
  }
}

static void
change_bar(SrTwoTakesView* const view)
{
  gtk_widget_queue_draw(GTK_WIDGET(view->picture));
}

// What is shown ----------------------------------------------------------------------------------

static void
show_all(SrTwoTakesView* const view)
{
  char words[SR_TWO_SENTENCE_SIZE];
  SrError error = {0};
  const SrShownTwo shown = shown_of(view);
  if (sr_two_takes_compare(shown.phrases[0], shown.played, &view->two, &error) != SR_OK) {
    say_trouble(view, error.message);
    return;
  }
  say_trouble(view, NULL);
  adw_window_title_set_subtitle(view->title, sr_phrase_title(shown.phrases[0]));
  const bool rounds = !view->takes[0]->path && !view->takes[1]->path;
  gtk_label_set_label(view->sentence, rounds ? sr_two_sentence_rounds(&view->two, words)
                                             : sr_two_sentence(&view->two, words));
  adw_window_title_set_title(view->title,
                             rounds ? "Two rounds side by side" : "Two takes side by side");
  const double* const bpm = view->two.figures[SR_TWO_TEMPO].value;
  gtk_widget_set_sensitive(GTK_WIDGET(view->same_tempo),
                           !isfinite(bpm[0]) || !isfinite(bpm[1]) || rint(bpm[0]) != rint(bpm[1]));
  char* const bars = sr_chosen_bars(view->takes[0]->held->chosen);
  char* const label = g_strdup_printf("%s over %s, %s, beat under beat", view->takes[0]->name,
                                      view->takes[1]->name, bars);
  gtk_accessible_update_property(GTK_ACCESSIBLE(view->picture), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 label, -1);
  g_free(label);
  g_free(bars);
  sr_two_takes_put_figures(view->figures, &view->two);
  gtk_label_set_label(view->test, "* " SR_TWO_TEST_WORDS);
  sr_two_takes_put_bars(view->bars, &shown, view->narrow);
  lay_out_picture(view);
}

// Choosing ---------------------------------------------------------------------------------------

/// Offer the bars, of which those that were chosen stay so.
static void
offer_bars(SrTwoTakesView* const view)
{
  const SrPhrase* const phrase = view->takes[0]->held->chosen->phrase;
  GtkStringList* const names = gtk_string_list_new(NULL);
  gtk_string_list_append(names, "All bars");
  for (size_t i = 0; i < sr_phrase_bar_count(phrase); ++i) {
    const int number = sr_phrase_bar(phrase, i)->number;
    char name[32];
    g_snprintf(name, sizeof(name), number ? "Bar %d" : "Pickup", number);
    gtk_string_list_append(names, name);
  }
  gtk_drop_down_set_model(view->bar, G_LIST_MODEL(names));
  g_object_unref(names);
}

static void
take(SrComparedTake** const place, SrComparedTake* const other)
{
  SrComparedTake* const old = *place;
  *place = sr_compared_take_ref(other);
  sr_compared_take_unref(old);
}

static void
change_takes(SrTwoTakesView* const view)
{
  const guint chosen[] = {gtk_drop_down_get_selected(view->first),
                          gtk_drop_down_get_selected(view->second)};
  if (view->setting || chosen[0] >= view->offered->len || chosen[1] >= view->offered->len) {
    return;
  }
  const bool begins = !view->takes[0];
  for (size_t t = 0; t < 2; ++t) {
    take(&view->takes[t], (SrComparedTake*)g_ptr_array_index(view->offered, chosen[t]));
  }
  if (begins) {
    offer_bars(view);
  }
  show_all(view);
}

/// Index of a take among those offered; it is added if it is new.
static guint
index_of(SrTwoTakesView* const view, SrComparedTake* const other)
{
  guint index = 0;
  if (!g_ptr_array_find(view->offered, other, &index)) {
    index = view->offered->len;
    g_ptr_array_add(view->offered, sr_compared_take_ref(other));
    gtk_string_list_append(view->names, other->name);
  }
  return index;
}

void
sr_two_takes_view_offer(SrTwoTakesView* const view, SrComparedTake* const other)
{
  view->setting = TRUE;
  (void)index_of(view, other);
  view->setting = FALSE;
}

void
sr_two_takes_view_show(SrTwoTakesView* const view, SrComparedTake* const first,
                       SrComparedTake* const second)
{
  view->setting = TRUE;
  gtk_drop_down_set_selected(view->first, index_of(view, first));
  gtk_drop_down_set_selected(view->second, index_of(view, second));
  view->setting = FALSE;
  change_takes(view);
}

void
sr_two_takes_view_say(SrTwoTakesView* const view, const char* const words)
{
  if (!view->takes[0]) {
    gtk_label_set_label(view->sentence, words);
  }
}

gboolean
sr_two_takes_view_shows(SrTwoTakesView* const view)
{
  return view->takes[0] != NULL;
}

// Hearing ----------------------------------------------------------------------------------------

static void
take_end(void* const data, const char* const trouble)
{
  SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(data);
  g_clear_object(&view->stop);
  // The window may have been closed since
  if (view->sitting && trouble) {
    say_trouble(view, trouble);
  }
  if (view->closing && view->sitting) {
    gtk_window_destroy(GTK_WINDOW(view));
  }
  g_object_unref(view);
}

/// Stop what plays; whether anything did.
static bool
stop_playing(SrTwoTakesView* const view)
{
  if (sr_sitting_phase(view->sitting) == SR_SITTING_SHOWING) {
    sr_sitting_send(view->sitting, (SrCommand){.kind = SR_COMMAND_PLAY_STOP});
    return true;
  }
  if (view->stop) {
    g_cancellable_cancel(view->stop);
    return true;
  }
  return false;
}

static void
hear(SrTwoTakesView* const view, const SrHearing which)
{
  if (!view->takes[0] || view->closing || stop_playing(view)) {
    return;
  }
  const SrTwoTakesHearing hearing = {.which = which,
                                     .takes = {view->takes[0], view->takes[1]},
                                     .bar = chosen_bar(view),
                                     .same_tempo =
                                         gtk_check_button_get_active(view->same_tempo) != FALSE};
  SrError error = {0};
  say_trouble(view, NULL);
  view->stop = g_cancellable_new();
  if (!sr_two_takes_hear(view->sitting, &hearing, view->stop, take_end, g_object_ref(view),
                         &error)) {
    g_clear_object(&view->stop);
    g_object_unref(view);
    say_trouble(view, error.message);
  }
}

static void
hear_first(SrTwoTakesView* const view)
{
  hear(view, SR_HEARING_FIRST);
}

static void
hear_second(SrTwoTakesView* const view)
{
  hear(view, SR_HEARING_SECOND);
}

static void
hear_both(SrTwoTakesView* const view)
{
  hear(view, SR_HEARING_BOTH);
}

// The window -------------------------------------------------------------------------------------

/// The height of the picture cannot change while it is being given a size.
static gboolean
follow_width_now(void* const data)
{
  SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(data);
  const int width = gtk_widget_get_width(GTK_WIDGET(view->picture));
  view->later = 0;
  if (view->takes[0] && (width < NARROW) != view->narrow) {
    const SrShownTwo shown = shown_of(view);
    view->narrow = width < NARROW;
    sr_two_takes_put_bars(view->bars, &shown, view->narrow);
  }
  if (width != view->width) {
    view->width = width;
    lay_out_picture(view);
  }
  return G_SOURCE_REMOVE;
}

static void
follow_width(SrTwoTakesView* const view)
{
  if (!view->later) {
    view->later = g_idle_add(follow_width_now, view);
  }
}

/// The button within a drop-down has the focus, and GTK 4.8 gives it no name.
static void
name_button(GtkDropDown* const list, const char* const name)
{
  gtk_accessible_update_property(GTK_ACCESSIBLE(gtk_widget_get_first_child(GTK_WIDGET(list))),
                                 GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
}

static gboolean
close_view(GtkWindow* const window)
{
  SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(window);
  (void)stop_playing(view);
  if (view->stop) {
    // A session must not open the devices while the loudspeaker is being closed
    g_cancellable_cancel(view->stop);
    view->closing = TRUE;
    return TRUE;
  }
  return GTK_WINDOW_CLASS(sr_two_takes_view_parent_class)->close_request(window);
}

static void
view_dispose(GObject* const object)
{
  SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(object);
  if (view->stop) {
    g_cancellable_cancel(view->stop);
  }
  g_clear_handle_id(&view->later, g_source_remove);
  g_clear_object(&view->sitting);
  g_clear_object(&view->names);
  g_clear_pointer(&view->offered, g_ptr_array_unref);
  g_clear_pointer(&view->rounds, sr_two_rounds_del);
  g_clear_pointer(&view->takes[0], sr_compared_take_unref);
  g_clear_pointer(&view->takes[1], sr_compared_take_unref);
  G_OBJECT_CLASS(sr_two_takes_view_parent_class)->dispose(object);
}

static void
sr_two_takes_view_class_init(SrTwoTakesViewClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = view_dispose;
  GTK_WINDOW_CLASS(class)->close_request = close_view;
  gtk_widget_class_set_template_from_resource(widget,
                                              "/org/steadyreed/Steadyreed/two_takes_view.ui");
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, title);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, first);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, second);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, sentence);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, picture);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, figures);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, test);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, bars);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, trouble);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, bar);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, hear_first);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, hear_second);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, hear_both);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, same_tempo);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, choosing);
  gtk_widget_class_bind_template_child(widget, SrTwoTakesView, hearing);
  gtk_widget_class_bind_template_callback(widget, change_takes);
  gtk_widget_class_bind_template_callback(widget, change_bar);
  gtk_widget_class_bind_template_callback(widget, follow_width);
  gtk_widget_class_bind_template_callback(widget, hear_first);
  gtk_widget_class_bind_template_callback(widget, hear_second);
  gtk_widget_class_bind_template_callback(widget, hear_both);
  gtk_widget_class_add_binding_action(widget, GDK_KEY_Escape, 0, "window.close", NULL);
}

static void
sr_two_takes_view_init(SrTwoTakesView* const view)
{
  view->offered = g_ptr_array_new_with_free_func((GDestroyNotify)sr_compared_take_unref);
  view->names = gtk_string_list_new(NULL);
  view->setting = TRUE;
  gtk_widget_init_template(GTK_WIDGET(view));
  gtk_widget_add_css_class(GTK_WIDGET(view), "practise");
  gtk_drop_down_set_model(view->first, G_LIST_MODEL(view->names));
  gtk_drop_down_set_model(view->second, G_LIST_MODEL(view->names));
  view->setting = FALSE;
  name_button(view->first, "First");
  name_button(view->second, "Second");
  name_button(view->bar, "What you hear");
  sr_flow_cells_pass_focus(view->choosing);
  sr_flow_cells_pass_focus(view->hearing);
  gtk_drawing_area_set_draw_func(view->picture, draw_picture, view, NULL);
  GtkGesture* const gesture = gtk_gesture_click_new();
  g_signal_connect(gesture, "pressed", G_CALLBACK(press_picture), view);
  gtk_widget_add_controller(GTK_WIDGET(view->picture), GTK_EVENT_CONTROLLER(gesture));
  gtk_widget_set_visible(GTK_WIDGET(view->same_tempo), sr_slow_is_built());
  sr_night_follow(GTK_WIDGET(view));
}

GtkWidget*
sr_two_takes_view_new(GtkWindow* const parent, SrSitting* const sitting)
{
  SrTwoTakesView* const view = SR_TWO_TAKES_VIEW(
      g_object_new(SR_TYPE_TWO_TAKES_VIEW, "transient-for", parent, "modal", TRUE, NULL));
  const int width = gtk_widget_get_width(GTK_WIDGET(parent));
  const int height = gtk_widget_get_height(GTK_WIDGET(parent));
  view->sitting = SR_SITTING(g_object_ref(sitting));
  gtk_window_set_default_size(GTK_WINDOW(view), width > 0 ? width : WIDTH,
                              height > 0 ? height : HEIGHT);
  if (gtk_window_is_maximized(parent)) {
    gtk_window_maximize(GTK_WINDOW(view));
  }
  return GTK_WIDGET(view);
}
