// SPDX-License-Identifier: GPL-3.0-or-later

#include "window_app.h"

#include "../command.h"
#include "../sound_take.h"
#include "frame_log.h"
#include "practise_window.h"

#include <adwaita.h>
#include <glib-unix.h>

static const char ID[] = "org.steadyreed.Steadyreed";

bool
sr_window_can_open(void)
{
  return gtk_init_check();
}

static void
use_style(void)
{
  GtkCssProvider* const provider = gtk_css_provider_new();
  gtk_css_provider_load_from_resource(provider, "/org/steadyreed/Steadyreed/window.css");
  gtk_style_context_add_provider_for_display(gdk_display_get_default(),
                                             GTK_STYLE_PROVIDER(provider),
                                             GTK_STYLE_PROVIDER_PRIORITY_APPLICATION);
  g_object_unref(provider);
}

/// Keys of the actions, beside those in ../keys.h; window_keys.ui shows them.
static void
add_keys(GtkApplication* const application)
{
  static const struct {
    const char* action;
    const char* keys[2]; ///< Ends in NULL
  } keys[] = {
      {"win.choose", {"<Control>o"}},          {"win.earlier-round", {"<Control>Left"}},
      {"win.later-round", {"<Control>Right"}}, {"win.my-round", {"<Control>r"}},
      {"win.slow-bar", {"<Control>b"}},        {"win.slow-phrase", {"<Control><Shift>b"}},
      {"win.today", {"<Control><Shift>d"}},    {"win.takes", {"<Control><Shift>t"}},
      {"win.compare", {"<Control>d"}},         {"win.click", {"<Control>k"}},
      {"win.progress", {"<Control>p"}},        {"win.ladder", {"<Control>l"}},
      {"win.by-ear", {"<Control>e"}},          {"win.tuner", {"<Control>t"}},
      {"win.setup", {"<Control>u"}},           {"win.full-screen", {"F11"}},
      {"win.keys", {"<Control>question"}},     {"win.close", {"<Control>w"}},
  };
  for (size_t i = 0; i < G_N_ELEMENTS(keys); ++i) {
    gtk_application_set_accels_for_action(application, keys[i].action, keys[i].keys);
  }
}

static void
open_window(GApplication* const application, void* const data)
{
  const SrWindowStart* const start = (const SrWindowStart*)data;
  const SrPhraseChoice* const choice = start->choice;
  SrChoice wanted = {.tune = choice->tune,
                     .first_bar = choice->first_bar,
                     .last_bar = choice->last_bar,
                     .part = choice->part,
                     .transpose = choice->transpose};
  char* const path = start->path ? g_canonicalize_filename(start->path, NULL) : NULL;
  // A recording is no phrase yet: one is learnt from it
  const bool recorded = path && sr_sound_take_is(path);
  wanted.path = recorded ? NULL : path;
  wanted.layout = g_strdup(start->layout);
  wanted.style = g_strdup(start->style);
  const SrWindowRequest request = {.choice = &wanted,
                                   .settings = start->settings,
                                   .speak = start->speak,
                                   .ladder = start->ladder,
                                   .recording = recorded ? path : NULL};
  use_style();
  add_keys(GTK_APPLICATION(application));
  gtk_window_set_default_icon_name(ID);
  GtkWidget* const window = sr_practise_window_new(GTK_APPLICATION(application), &request);
  gtk_window_present(GTK_WINDOW(window));
  sr_frame_log_begin(window);
  wanted.path = path;
  sr_choice_clear(&wanted);
}

/// Asked to end, as by the end of a desktop session or from the terminal: the take is saved first.
/// Asked again, it ends at once, for GLib then leaves the signal to the system.
static gboolean
close_windows(void* const data)
{
  GList* const windows = g_list_copy(gtk_application_get_windows(GTK_APPLICATION(data)));
  for (GList* next = windows; next; next = next->next) {
    gtk_window_close(GTK_WINDOW(next->data));
  }
  g_list_free(windows);
  return G_SOURCE_REMOVE;
}

int
sr_window_run(const SrWindowStart* const start)
{
  // Each window is a program of its own: it has a microphone and a click of its own
  AdwApplication* const application = adw_application_new(ID, G_APPLICATION_NON_UNIQUE);
  SrWindowStart copy = *start;
  g_signal_connect(application, "activate", G_CALLBACK(open_window), &copy);
  g_unix_signal_add(SIGINT, close_windows, application);
  g_unix_signal_add(SIGTERM, close_windows, application);
  g_unix_signal_add(SIGHUP, close_windows, application);
  const int status = g_application_run(G_APPLICATION(application), 0, NULL);
  g_object_unref(application);
  return status ? SR_EXIT_DEVICE : SR_EXIT_DONE;
}
