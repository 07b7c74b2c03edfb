// SPDX-License-Identifier: GPL-3.0-or-later

#include "round_row.h"

#include <steadyreed/large_words.h>

#include <adwaita.h>

#define WIDTH 58
#define HEIGHT 30
/// By then new buttons have their places, ms.
#define PLACED_MS 60

struct _SrRoundRow {
  GtkWidget parent_instance;
  GtkWidget* scrolled;
  GtkWidget* box;
  GPtrArray* shown; ///< SrHeldRound
  gboolean setting; ///< The buttons are being changed by us
  guint scrolling;  ///< Source that brings the chosen one into sight
};

G_DEFINE_FINAL_TYPE(SrRoundRow, sr_round_row, GTK_TYPE_WIDGET)

enum { CHOSEN, SIGNALS };
static guint signals[SIGNALS];

static void
draw_marks(GtkDrawingArea* const area, cairo_t* const cairo, const int width, const int height,
           void* const data)
{
  (void)area;
  const SrHeldRound* const held = (const SrHeldRound*)data;
  (void)sr_round_marks_draw(held->round,
                            adw_style_manager_get_dark(adw_style_manager_get_default()), cairo, 2.0,
                            2.0, width - 4.0, height - 4.0);
}

static void
toggle(GtkToggleButton* const button, SrRoundRow* const row)
{
  if (row->setting) {
    return;
  }
  const guint index = GPOINTER_TO_UINT(g_object_get_data(G_OBJECT(button), "index"));
  g_signal_emit(row, signals[CHOSEN], 0, index);
}

static char*
name_of(const SrHeldRound* const held)
{
  SrLargeFigure figures[SR_LARGE_FIGURES];
  const size_t count = sr_large_figures(held->round, held->assessment->air_carriage, figures);
  GString* const name = g_string_new(NULL);
  g_string_printf(name, "Round %u", held->number);
  for (size_t i = 0; i < count; ++i) {
    g_string_append_printf(name, "%s %s %s", i ? "," : ":", figures[i].name, figures[i].words);
  }
  return g_string_free(name, FALSE);
}

static void
add_button(SrRoundRow* const row, SrHeldRound* const held, const guint index)
{
  GtkWidget* const button = gtk_toggle_button_new();
  GtkWidget* const box = gtk_box_new(GTK_ORIENTATION_VERTICAL, 0);
  GtkWidget* const area = gtk_drawing_area_new();
  char number[16];
  g_snprintf(number, sizeof(number), "%u", held->number);
  gtk_drawing_area_set_content_width(GTK_DRAWING_AREA(area), WIDTH);
  gtk_drawing_area_set_content_height(GTK_DRAWING_AREA(area), HEIGHT);
  gtk_drawing_area_set_draw_func(GTK_DRAWING_AREA(area), draw_marks, sr_held_round_ref(held),
                                 (GDestroyNotify)sr_held_round_unref);
  gtk_box_append(GTK_BOX(box), area);
  gtk_box_append(GTK_BOX(box), gtk_label_new(number));
  gtk_button_set_child(GTK_BUTTON(button), box);
  gtk_widget_add_css_class(button, "small-round");
  char* const name = name_of(held);
  gtk_accessible_update_property(GTK_ACCESSIBLE(button), GTK_ACCESSIBLE_PROPERTY_LABEL, name, -1);
  gtk_widget_set_tooltip_text(button, name);
  g_free(name);
  g_object_set_data(G_OBJECT(button), "index", GUINT_TO_POINTER(index));
  g_signal_connect(button, "toggled", G_CALLBACK(toggle), row);
  gtk_box_append(GTK_BOX(row->box), button);
}

/// NULL for none.
static GtkWidget*
chosen_button(const SrRoundRow* const row)
{
  GtkWidget* child = gtk_widget_get_first_child(row->box);
  while (child && !gtk_toggle_button_get_active(GTK_TOGGLE_BUTTON(child))) {
    child = gtk_widget_get_next_sibling(child);
  }
  return child;
}

/// The chosen one comes into sight.
static gboolean
scroll_to_chosen(void* const data)
{
  SrRoundRow* const row = SR_ROUND_ROW(data);
  double x = 0.0;
  double y = 0.0;
  row->scrolling = 0;
  // The window may have been closed since
  GtkWidget* const chosen = row->scrolled ? chosen_button(row) : NULL;
  if (chosen && gtk_widget_translate_coordinates(chosen, row->box, 0.0, 0.0, &x, &y)) {
    GtkAdjustment* const place =
        gtk_scrolled_window_get_hadjustment(GTK_SCROLLED_WINDOW(row->scrolled));
    gtk_adjustment_clamp_page(place, x, x + gtk_widget_get_width(chosen));
  }
  g_object_unref(row);
  return G_SOURCE_REMOVE;
}

/// Once the buttons have their places.
static void
scroll_later(SrRoundRow* const row)
{
  if (!row->scrolling) {
    row->scrolling = g_timeout_add(PLACED_MS, scroll_to_chosen, g_object_ref(row));
  }
}

/// Whether what is shown is the beginning of these rounds.
static gboolean
is_beginning(const SrRoundRow* const row, const GPtrArray* const rounds)
{
  gboolean same = row->shown->len <= rounds->len;
  for (guint i = 0; same && i < row->shown->len; ++i) {
    same = g_ptr_array_index(row->shown, i) == g_ptr_array_index(rounds, i);
  }
  return same;
}

void
sr_round_row_show(SrRoundRow* const row, const GPtrArray* const rounds, const guint chosen)
{
  row->setting = TRUE;
  if (!is_beginning(row, rounds)) {
    for (GtkWidget* child = NULL; (child = gtk_widget_get_first_child(row->box));) {
      gtk_box_remove(GTK_BOX(row->box), child);
    }
    g_ptr_array_set_size(row->shown, 0);
  }
  for (guint i = row->shown->len; i < rounds->len; ++i) {
    SrHeldRound* const held = (SrHeldRound*)g_ptr_array_index(rounds, i);
    add_button(row, held, i);
    g_ptr_array_add(row->shown, sr_held_round_ref(held));
  }
  guint index = 0;
  for (GtkWidget* child = gtk_widget_get_first_child(row->box); child;
       child = gtk_widget_get_next_sibling(child)) {
    gtk_toggle_button_set_active(GTK_TOGGLE_BUTTON(child), index++ == chosen);
  }
  scroll_later(row);
  row->setting = FALSE;
}

static void
redraw(SrRoundRow* const row)
{
  for (GtkWidget* child = gtk_widget_get_first_child(row->box); child;
       child = gtk_widget_get_next_sibling(child)) {
    GtkWidget* const box = gtk_button_get_child(GTK_BUTTON(child));
    gtk_widget_queue_draw(gtk_widget_get_first_child(box));
  }
}

static void
row_dispose(GObject* const object)
{
  SrRoundRow* const row = SR_ROUND_ROW(object);
  g_clear_pointer(&row->scrolled, gtk_widget_unparent);
  g_clear_pointer(&row->shown, g_ptr_array_unref);
  G_OBJECT_CLASS(sr_round_row_parent_class)->dispose(object);
}

static void
sr_round_row_class_init(SrRoundRowClass* const class)
{
  GtkWidgetClass* const widget = GTK_WIDGET_CLASS(class);
  G_OBJECT_CLASS(class)->dispose = row_dispose;
  gtk_widget_class_set_layout_manager_type(widget, GTK_TYPE_BIN_LAYOUT);
  signals[CHOSEN] = g_signal_new("chosen", SR_TYPE_ROUND_ROW, G_SIGNAL_RUN_LAST, 0, NULL, NULL,
                                 NULL, G_TYPE_NONE, 1, G_TYPE_UINT);
}

static void
sr_round_row_init(SrRoundRow* const row)
{
  row->shown = g_ptr_array_new_with_free_func((GDestroyNotify)sr_held_round_unref);
  row->scrolled = gtk_scrolled_window_new();
  row->box = gtk_box_new(GTK_ORIENTATION_HORIZONTAL, 4);
  gtk_scrolled_window_set_child(GTK_SCROLLED_WINDOW(row->scrolled), row->box);
  gtk_scrolled_window_set_policy(GTK_SCROLLED_WINDOW(row->scrolled), GTK_POLICY_AUTOMATIC,
                                 GTK_POLICY_NEVER);
  // It follows the round that has the focus
  gtk_widget_set_focusable(row->scrolled, FALSE);
  gtk_widget_set_parent(row->scrolled, GTK_WIDGET(row));
  gtk_accessible_update_property(GTK_ACCESSIBLE(row), GTK_ACCESSIBLE_PROPERTY_LABEL, "Rounds", -1);
  gtk_accessible_update_property(GTK_ACCESSIBLE(row->box), GTK_ACCESSIBLE_PROPERTY_LABEL,
                                 "Rounds of this sitting", -1);
  g_signal_connect_object(adw_style_manager_get_default(), "notify::dark", G_CALLBACK(redraw), row,
                          G_CONNECT_SWAPPED);
}

GtkWidget*
sr_round_row_new(void)
{
  return GTK_WIDGET(g_object_new(SR_TYPE_ROUND_ROW, NULL));
}
