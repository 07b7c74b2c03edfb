// SPDX-License-Identifier: GPL-3.0-or-later

#include "about.h"

#include "../../speaker.h"

#include <portaudio.h>

/// What helps whoever looks into a fault: no name, no path, no device of the player's.
/// g_free() it.
static char*
versions(GtkWindow* const parent)
{
  char* const os = g_get_os_info(G_OS_INFO_KEY_PRETTY_NAME);
  char* const text = g_strdup_printf(
      "Steadyreed %s\n"
      "GTK %u.%u.%u\n"
      "libadwaita %u.%u.%u\n"
      "%s\n"
      "GLib %u.%u.%u\n"
      "Cairo %s\n"
      "Pango %s\n"
      "Recordings of phones and cameras: %s\n"
      "Spoken verdicts: %s\n"
      "Display: %s\n"
      "System: %s\n",
      SR_VERSION, gtk_get_major_version(), gtk_get_minor_version(), gtk_get_micro_version(),
      adw_get_major_version(), adw_get_minor_version(), adw_get_micro_version(),
      Pa_GetVersionInfo()->versionText, glib_major_version, glib_minor_version, glib_micro_version,
      cairo_version_string(), pango_version_string(), SR_HAS_MEDIA ? "built in" : "left out",
      sr_speaker_is_built() ? "built in" : "left out",
      G_OBJECT_TYPE_NAME(gtk_widget_get_display(GTK_WIDGET(parent))), os ? os : "unknown");
  g_free(os);
  return text;
}

void
sr_about_show(GtkWindow* const parent)
{
  char* const debug = versions(parent);
  adw_show_about_window(
      parent, "application-name", "Steadyreed", "application-icon", "org.steadyreed.Steadyreed",
      "developer-name", "The Steadyreed developers", "version", SR_VERSION, "license-type",
      GTK_LICENSE_GPL_3_0, // "or any later version" is said there
      "comments",
      "Listens while you practise the Anglo concertina, and says what to do better. Nothing leaves "
      "this computer.",
      "debug-info", debug, "debug-info-filename", "steadyreed-versions.txt", NULL);
  g_free(debug);
}
