// SPDX-License-Identifier: GPL-3.0-or-later

// The parts of the view that learns by ear, for the files that make it up.

#ifndef SR_WINDOW_BY_EAR_VIEW_PARTS_H
#define SR_WINDOW_BY_EAR_VIEW_PARTS_H

#include "by_ear_view.h"
#include "stretch_box.h"
#include "stretch_player.h"
#include "stretch_writing.h"
#include "written_box.h"

/// What is played.
typedef enum { PLAYS_NOTHING, PLAYS_STRETCH, PLAYS_ON, PLAYS_WRITTEN, PLAYS_BOTH } SrByEarPlays;

struct _SrByEarView {
  AdwWindow parent_instance;
  AdwWindowTitle* title;
  GtkLabel* status;
  GtkStack* stack;
  GtkSpinner* reading;
  GtkWidget* open;
  GtkWidget* open_first;
  GtkScrolledWindow* scroller;
  SrStretchBox* stretch;
  GtkFlowBox* hearing;
  GtkButton* hear;
  GtkButton* hear_on;
  GtkSpinButton* speed;
  GtkCheckButton* again;
  GtkWidget* pause_box;
  GtkSpinButton* pause;
  GtkButton* write;
  GtkSpinner* writing_spinner;
  SrWrittenBox* written;

  SrChoice choice; ///< For the picture
  char* path;      ///< The recording that is shown; NULL without
  char* wanted;    ///< The one that is being read
  SrTakeOutline* outline;
  SrStretchWriting* writing; ///< What was written down; NULL before
  SrStretchPlayer* player;
  SrByEarPlays plays;
  GCancellable* reads;  ///< While a recording is read
  GCancellable* writes; ///< While a stretch is written down
  unsigned working;     ///< Threads that have not come back
  guint tick;
  guint replay; ///< Source that plays the stretch once it is no longer changed
  GtkFileChooserNative* chooser;
  gboolean closing;
};

// by_ear_view.c

/// Say something at the top.
void sr_by_ear_say(SrByEarView* view, const char* words);
/// Say what to do next.
void sr_by_ear_say_next(SrByEarView* view);
/// It goes if it was closed, and nothing of it works any more.
void sr_by_ear_go_once_idle(SrByEarView* view);
/// Ask for a recording.
void sr_by_ear_ask_file(SrByEarView* view);
/// The path that was chosen in its dialog, which goes; g_free() it. NULL if none was.
char* sr_by_ear_take_path(SrByEarView* view, int response);

// by_ear_hearing.c

/// Listen to the player and to keys.
void sr_by_ear_hearing_begin(SrByEarView* view);
/// Show what is played.
void sr_by_ear_show_playing(SrByEarView* view);
/// Play it; if it is played already, stop.
void sr_by_ear_toggle(SrByEarView* view, SrByEarPlays what);
void sr_by_ear_stop(SrByEarView* view);
/// Play the stretch again if it was played, once it is no longer changed.
void sr_by_ear_replay(SrByEarView* view);
/// What is played goes on with the settings chosen now.
void sr_by_ear_sound_changed(SrByEarView* view);
/// The speed is typed and shown as "80 %".
gboolean sr_by_ear_read_speed(GtkSpinButton* spin, double* value, SrByEarView* view);
gboolean sr_by_ear_write_speed(GtkSpinButton* spin, SrByEarView* view);

// by_ear_writing.c

/// Write the stretch down, or say why that cannot be.
void sr_by_ear_write_down(SrByEarView* view);
/// What is being written down is no longer wanted.
void sr_by_ear_cancel_writing(SrByEarView* view);
/// Show whether something is written down, or being written down.
void sr_by_ear_show_writing(SrByEarView* view);
/// What was written is no longer what is marked.
void sr_by_ear_forget_writing(SrByEarView* view);
/// Keep the phrase, tell whoever opened the view, and close it.
void sr_by_ear_practise(SrByEarView* view);
/// Ask for a file to save the phrase in.
void sr_by_ear_ask_save(SrByEarView* view);

#endif // SR_WINDOW_BY_EAR_VIEW_PARTS_H
