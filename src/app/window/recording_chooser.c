// SPDX-License-Identifier: GPL-3.0-or-later

#include "recording_chooser.h"

static void
add_filter(GtkFileChooser* const chooser, GtkFileFilter* const filter, const char* const name)
{
  gtk_file_filter_set_name(filter, name);
  gtk_file_chooser_add_filter(chooser, filter);
  g_object_unref(filter);
}

GtkFileChooserNative*
sr_recording_chooser_open(GtkWindow* const parent)
{
  GtkFileChooserNative* const chooser = gtk_file_chooser_native_new(
      "Open a recording", parent, GTK_FILE_CHOOSER_ACTION_OPEN, "_Open", "_Cancel");
  GtkFileFilter* const recordings = gtk_file_filter_new();
  GtkFileFilter* const all = gtk_file_filter_new();
  gtk_file_filter_add_mime_type(recordings, "audio/*");
  // What cameras and phones film has sound too
  gtk_file_filter_add_mime_type(recordings, "video/*");
  gtk_file_filter_add_mime_type(recordings, "application/ogg");
  gtk_file_filter_add_pattern(all, "*");
  add_filter(GTK_FILE_CHOOSER(chooser), recordings, "Recordings");
  add_filter(GTK_FILE_CHOOSER(chooser), all, "All files");
  return chooser;
}

GtkFileChooserNative*
sr_recording_chooser_save(GtkWindow* const parent, const char* const title)
{
  GtkFileChooserNative* const chooser = gtk_file_chooser_native_new(
      "Save as ABC", parent, GTK_FILE_CHOOSER_ACTION_SAVE, "_Save", "_Cancel");
  char* const plain = g_strdelimit(g_strdup(title[0] ? title : "By Ear"), "/", '-');
  char* const name = g_strconcat(plain, ".abc", NULL);
  gtk_file_chooser_set_current_name(GTK_FILE_CHOOSER(chooser), name);
  g_free(name);
  g_free(plain);
  return chooser;
}

char*
sr_recording_chooser_path(GtkFileChooserNative* const chooser, const int response)
{
  GFile* const file =
      response == GTK_RESPONSE_ACCEPT ? gtk_file_chooser_get_file(GTK_FILE_CHOOSER(chooser)) : NULL;
  char* const path = file ? g_file_get_path(file) : NULL;
  if (file) {
    g_object_unref(file);
  }
  return path;
}
