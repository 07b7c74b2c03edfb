// SPDX-License-Identifier: GPL-3.0-or-later

#include "two_takes_grids.h"

static void
clear_grid(GtkGrid* const grid)
{
  for (GtkWidget* child = NULL; (child = gtk_widget_get_first_child(GTK_WIDGET(grid)));) {
    gtk_grid_remove(grid, child);
  }
}

/// A label in a cell of a grid.
static GtkWidget*
put(GtkGrid* const grid, const char* const words, const char* const class, const int column,
    const int row, const int columns)
{
  GtkWidget* const label = gtk_label_new(words);
  gtk_label_set_xalign(GTK_LABEL(label), 0.0f);
  gtk_label_set_yalign(GTK_LABEL(label), 0.0f);
  gtk_widget_add_css_class(label, class);
  gtk_grid_attach(grid, label, column, row, columns, 1);
  return label;
}

/// A number in a cell, at its right edge.
static void
put_number(GtkGrid* const grid, const char* const words, const bool told, const int column,
           const int row)
{
  GtkWidget* const label = put(grid, words, "more", column, row, 1);
  gtk_label_set_xalign(GTK_LABEL(label), 1.0f);
  if (told) {
    gtk_widget_add_css_class(label, "told");
  }
}

void
sr_two_takes_put_figures(GtkGrid* const grid, const SrTwoTakes* const two)
{
  SrTwoRow rows[SR_TWO_FIGURES];
  const size_t count = sr_two_rows(two, rows);
  clear_grid(grid);
  static const char* const heads[] = {"1st", "2nd", "differs"};
  for (int i = 0; i < 3; ++i) {
    GtkWidget* const head = put(grid, heads[i], "figure-name", i + 1, 0, 1);
    gtk_label_set_xalign(GTK_LABEL(head), 1.0f);
  }
  for (size_t i = 0; i < count; ++i) {
    const int row = (int)i + 1;
    char* const difference = g_strdup_printf("%s%s", rows[i].difference, rows[i].told ? " *" : "");
    (void)put(grid, rows[i].name, "figure-name", 0, row, 1);
    put_number(grid, rows[i].value[0], rows[i].told, 1, row);
    put_number(grid, rows[i].value[1], rows[i].told, 2, row);
    put_number(grid, difference, rows[i].told, 3, row);
    g_free(difference);
  }
}

/// What went wrong in one take in a bar.
static void
put_words(GtkGrid* const grid, const char* const words, const int column, const int row)
{
  GtkWidget* const label = put(grid, *words ? words : "–", "more", column, row, 1);
  gtk_label_set_wrap(GTK_LABEL(label), TRUE);
  gtk_widget_set_hexpand(label, TRUE);
}

void
sr_two_takes_put_bars(GtkGrid* const grid, const SrShownTwo* const shown, const gboolean narrow)
{
  SrTwoBar* bars = NULL;
  size_t count = 0;
  SrError error = {0};
  const bool known = sr_two_bars(shown, &bars, &count, &error) == SR_OK;
  clear_grid(grid);
  int row = 0;
  if (!known || !count) {
    (void)put(grid, known ? "Nothing went wrong in either." : error.message, "figure-name", 0, row,
              3);
  }
  for (size_t i = 0; known && i < count; ++i) {
    char place[24];
    g_snprintf(place, sizeof(place),
               bars[i].bar > 0    ? "Bar %d"
               : bars[i].bar == 0 ? "Pickup"
                                  : "All",
               bars[i].bar);
    if (!narrow) {
      (void)put(grid, place, "figure-name", 0, row, 1);
      put_words(grid, bars[i].words[0], 1, row);
      put_words(grid, bars[i].words[1], 2, row++);
      continue;
    }
    for (size_t t = 0; t < 2; ++t) {
      char* const which = g_strdup_printf("%s, %s", place, t ? "2nd" : "1st");
      (void)put(grid, which, "figure-name", 0, row++, 1);
      put_words(grid, bars[i].words[t], 0, row++);
      g_free(which);
    }
  }
  sr_two_bars_del(bars, count);
}
